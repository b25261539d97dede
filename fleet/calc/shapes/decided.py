"""Rules that leave the interval to a decision."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Self

from fleet.calc.durations import Duration
from fleet.calc.parameters import only
from fleet.calc.shapes.base import NOTHING, Known, Shape, check_no_longer
from fleet.calc.shapes.gaps import MaxGap


@dataclass(frozen=True)
class ByHistory(Shape):
    """Due only from an interval decision: the interval follows performance in the service."""

    kind = "by_history"
    decides = ""

    @classmethod
    def _read(cls, parameters: Mapping[str, Any]) -> Self:
        only(parameters, cls.kind)
        return cls()

    def _own(self) -> dict[str, Any]:
        return {}

    def due(self, history: Sequence[date], known: Known = NOTHING) -> None:
        return None

    def undated(self) -> str:
        return "the rule leaves the interval to a decision, and none is recorded"

    def check_interval(self, interval: Duration) -> None:
        check_no_longer(interval, self.ceiling or interval, "the ceiling")

    def with_interval(self, interval: Duration) -> MaxGap:
        return MaxGap(interval, out_of_service=self.out_of_service, ceiling=self.ceiling)

    def words(self) -> str:
        return "at the interval decided on from its history"
