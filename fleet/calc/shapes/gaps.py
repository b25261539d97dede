"""Rules that count an interval from the last time: no more than so long apart."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Self

from fleet.calc.durations import Duration
from fleet.calc.parameters import RuleError, count, interval, only
from fleet.calc.shapes.base import CAP, GAP, NOTHING, WINDOW, Due, Known, Shape
from fleet.calc.shapes.wording import number_words, ordinal, span


@dataclass(frozen=True)
class MaxGap(Shape):
    """No more than `gap` apart: due = last + gap."""

    kind = "max_gap"
    gap: Duration

    @classmethod
    def _read(cls, parameters: Mapping[str, Any]) -> Self:
        only(parameters, cls.kind, "gap")
        return cls(interval(parameters, "gap"))

    def _own(self) -> dict[str, Any]:
        return {"gap": self.gap.text}

    def due(self, history: Sequence[date], known: Known = NOTHING) -> Due:
        return Due(self.gap.after(history[-1]), None, GAP)

    def words(self) -> str:
        return f"no more than {self.gap.words} apart"

    def _because(self, due: Due, last: date) -> str:
        return f"{self.gap.words} after {last}"


@dataclass(frozen=True)
class Rolling(Shape):
    """`count` in any `window`, no more than `gap` apart.

    The earlier of last + gap and (count-th last) + window; with fewer than `count`, last + gap.
    """

    kind = "rolling"
    count: int
    window: Duration
    gap: Duration

    @classmethod
    def _read(cls, parameters: Mapping[str, Any]) -> Self:
        only(parameters, cls.kind, "count", "window", "gap")
        often = count(parameters, "count", least=2)
        return cls(often, interval(parameters, "window"), interval(parameters, "gap"))

    def _own(self) -> dict[str, Any]:
        return {"count": self.count, "window": self.window.text, "gap": self.gap.text}

    def due(self, history: Sequence[date], known: Known = NOTHING) -> Due:
        by_gap = self.gap.after(history[-1])
        if len(history) < self.count:
            return Due(by_gap, None, GAP)
        first = history[-self.count]
        by_window = self.window.after(first)
        if by_gap <= by_window:
            return Due(by_gap, None, GAP)
        return Due(by_window, None, WINDOW, first)

    def words(self) -> str:
        return (
            f"{number_words(self.count)} in any {span(self.window)},"
            f" no more than {self.gap.words} apart"
        )

    def _because(self, due: Due, last: date) -> str:
        if due.limit != WINDOW:
            return f"{self.gap.words} after {last}"
        often = number_words(self.count)
        return (
            f"{self.window.words} after {last}, the {ordinal(self.count)} last of {often}"
            f" in any {span(self.window)}"
        )


@dataclass(frozen=True)
class Capped(Shape):
    """At a `target`, and never more than `cap` apart: due = last + cap, target_on before it."""

    kind = "capped"
    decides = "target"
    target: Duration
    cap: Duration

    @classmethod
    def _read(cls, parameters: Mapping[str, Any]) -> Self:
        only(parameters, cls.kind, "target", "cap")
        target, cap = interval(parameters, "target"), interval(parameters, "cap")
        if target.exceeds(cap):
            raise RuleError("target", target.text, f"no longer than the cap {cap.text}")
        return cls(target, cap)

    def _own(self) -> dict[str, Any]:
        return {"target": self.target.text, "cap": self.cap.text}

    def due(self, history: Sequence[date], known: Known = NOTHING) -> Due:
        due_on = self.cap.after(history[-1])
        return Due(due_on, min(self.target.after(history[-1]), due_on), CAP)

    def words(self) -> str:
        return f"every {span(self.target)}, no more than {self.cap.words} apart"

    def _because(self, due: Due, last: date) -> str:
        aim = f", aimed at {due.target_on}" if due.target_on else ""
        return f"{self.cap.words} after {last}{aim}"
