"""Rules that count an interval from the last time: no more than so long apart."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Self

from fleet.calc.durations import Duration
from fleet.calc.parameters import interval, only
from fleet.calc.shapes.base import GAP, NOTHING, Due, Known, Shape


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
