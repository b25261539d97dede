"""Rules that sample a group: each member now and then, and a share of them in any window."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any, Self

from fleet.calc.durations import Duration
from fleet.calc.parameters import RuleError, count, interval, only
from fleet.calc.shapes.base import (
    EXPANSION,
    GAP,
    NOTHING,
    SAMPLE,
    WHOLE_GROUP,
    Due,
    Known,
    Shape,
)
from fleet.calc.shapes.wording import span

_FRACTION = re.compile(r"[01](?:\.[0-9]{1,6})?", re.ASCII)
_PERCENT = re.compile(r"([0-9]{1,3}(?:\.[0-9]{1,4})?) ?%", re.ASCII)


@dataclass(frozen=True)
class GroupSample(Shape):
    """Each member no more than `gap` apart; in every `window` at least `fraction` of the group.

    By itself it answers for one member alone, last + gap: what the group adds takes the group,
    `fleet/calc/groups.py`. `expansion` more are called in by a failure, outside `band` percent.
    """

    kind = "group_sample"
    fraction: Decimal
    window: Duration
    gap: Duration
    expansion: int
    band: Fraction

    @classmethod
    def _read(cls, parameters: Mapping[str, Any]) -> Self:
        only(parameters, cls.kind, "fraction", "window", "gap", "expansion", "band")
        return cls(
            _fraction(parameters),
            interval(parameters, "window"),
            interval(parameters, "gap"),
            count(parameters, "expansion"),
            _band(parameters),
        )

    def _own(self) -> dict[str, Any]:
        return {
            "fraction": str(self.fraction),
            "window": self.window.text,
            "gap": self.gap.text,
            "expansion": self.expansion,
            "band": self._percent(self.band),
        }

    def needed(self, members: int) -> int:
        """How many of so many members any window must hold: the fraction, rounded up."""
        share = Fraction(self.fraction) * members
        return -(-share.numerator // share.denominator)

    def due(self, history: Sequence[date], known: Known = NOTHING) -> Due:
        return Due(self.gap.after(history[-1]), None, GAP)

    def words(self) -> str:
        return (
            f"at least {self._share()} of the group in any {span(self.window)}, each no more than"
            f" {self.gap.words} apart; {self.expansion} more after a failure outside the owner's"
            f" tolerance and {self._percent(self.band)}, all after a failure among those"
        )

    def _because(self, due: Due, last: date) -> str:
        if due.limit == SAMPLE:
            return (
                f"at least {self._share()} of its group in any {span(self.window)}, and it is"
                f" among those longest untested, last done {last}"
            )
        if due.limit == EXPANSION:
            return (
                f"a test in its group failed, which calls in {self.expansion} more of those"
                f" longest untested, last done {last}"
            )
        if due.limit == WHOLE_GROUP:
            return (
                "a test called in by a failure failed too, which calls in the whole group,"
                f" last done {last}"
            )
        return f"{self.gap.words} after {last}"

    def _share(self) -> str:
        return self._percent(Fraction(self.fraction) * 100)

    @property
    def band_words(self) -> str:
        return self._percent(self.band)

    @staticmethod
    def _percent(number: Fraction) -> str:
        exact = Decimal(number.numerator) / Decimal(number.denominator)
        return f"{exact.normalize():f} %"


def _fraction(parameters: Mapping[str, Any]) -> Decimal:
    typed = parameters.get("fraction", "")
    if not isinstance(typed, str) or not _FRACTION.fullmatch(typed) or not 0 < Decimal(typed) <= 1:
        raise RuleError("fraction", typed, "a fraction as text, above 0 and up to 1, such as 0.20")
    return Decimal(typed)


def _band(parameters: Mapping[str, Any]) -> Fraction:
    typed = parameters.get("band", "")
    match = _PERCENT.fullmatch(typed) if isinstance(typed, str) else None
    if match is None or Fraction(match[1]) > 100:
        raise RuleError("band", typed, "a percentage of set pressure such as 3 %")
    return Fraction(match[1])
