"""Rules that follow what happens: a release, an alteration, so much use by a counter."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Self

from fleet.calc.durations import Duration
from fleet.calc.parameters import RuleError, count, one_of, only
from fleet.calc.shapes.base import NOTHING, TRIGGER, Due, Known, Shape

TRIGGER_KINDS = {
    "release": "release",
    "alteration": "alteration",
    "major_repair": "major repair",
    "mawp_increase": "increase of the allowed pressure",
    "process_change": "change of process",
    "long_shutdown": "long shutdown",
    "irregularity": "irregularity",
}


@dataclass(frozen=True)
class AfterEvent(Shape):
    """Within `days` of something that happened: due = the earliest one not yet answered + days.

    Done on that day or later answers it.
    """

    kind = "after_event"
    needs_history = False
    decides = ""
    may_lengthen = False
    kinds: tuple[str, ...]
    days: int

    @classmethod
    def _read(cls, parameters: Mapping[str, Any]) -> Self:
        only(parameters, cls.kind, "kinds", "days")
        return cls(_kinds(parameters), count(parameters, "days", least=0))

    def _own(self) -> dict[str, Any]:
        return {"kinds": list(self.kinds), "days": self.days}

    def due(self, history: Sequence[date], known: Known = NOTHING) -> Due | None:
        """None when nothing is open."""
        open_on = [
            trigger.happened_on
            for trigger in known.triggers
            if trigger.kind in self.kinds and not (history and trigger.happened_on <= history[-1])
        ]
        if not open_on:
            return None
        first = min(open_on)
        return Due(self._within.after(first), None, TRIGGER, first)

    def undated(self) -> str:
        return f"no {self._named()} calls for it"

    def words(self) -> str:
        named = self._named()
        article = "an" if named[0] in "aeiou" else "a"
        when = f"within {self._within.words} of" if self.days else "on the day of"
        return f"{when} {article} {named}"

    def _because(self, due: Due, last: date) -> str:
        when = f"{self._within.words} after" if self.days else "on the day of"
        return f"{when} the {self._named()} of {last}"

    @property
    def _within(self) -> Duration:
        return Duration(0, self.days, f"P{self.days}D")

    def _named(self) -> str:
        return one_of(TRIGGER_KINDS[kind] for kind in self.kinds)


def _kinds(parameters: Mapping[str, Any]) -> tuple[str, ...]:
    typed = parameters.get("kinds", "")
    expected = f"a list of different ones of {one_of(TRIGGER_KINDS)}"
    if not isinstance(typed, list | tuple) or not typed:
        raise RuleError("kinds", typed, expected)
    for number, kind in enumerate(typed):
        if not isinstance(kind, str) or kind not in TRIGGER_KINDS or kind in typed[:number]:
            raise RuleError("kinds", kind, expected)
    return tuple(typed)
