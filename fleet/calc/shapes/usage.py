"""Rules that follow use: so many service days, starts or hours by a logged counter."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise
from typing import Any, Self

from fleet.calc.parameters import RuleError, count, only
from fleet.calc.shapes.base import COUNT, NOTHING, PROJECTED, Due, Known, Reading, Shape

MOST = 10_000_000
FURTHEST = 200 * 366  # days: nothing is projected further than the longest interval there is


@dataclass(frozen=True)
class Usage(Shape):
    """Due when `counter` stands `count` above what it stood at the last time.

    What it stood at is its last reading on or before that day: use since that reading counts, so
    the date is early rather than late. Once a reading has reached the number, the day it did is
    found on the line between the two readings around it; until then on the line from that last
    reading to the newest, or, where none is newer, from the reading before it.
    """

    kind = "usage"
    decides = ""
    may_lengthen = False
    counter: str
    count: int

    @classmethod
    def _read(cls, parameters: Mapping[str, Any]) -> Self:
        only(parameters, cls.kind, "counter", "count")
        return cls(_counter(parameters), count(parameters, "count", most=MOST))

    def _own(self) -> dict[str, Any]:
        return {"counter": self.counter, "count": self.count}

    def due(self, history: Sequence[date], known: Known = NOTHING) -> Due | None:
        """None where no reading, or no use between readings, says when."""
        own = (reading for reading in known.readings if reading.counter == self.counter)
        readings = sorted(own, key=lambda reading: reading.read_on)
        past = sum(reading.read_on <= history[-1] for reading in readings)
        if not past:
            return None
        since = readings[past - 1 :]
        goal = since[0].value + self.count
        for earlier, later in pairwise(since):
            if later.value >= goal:
                return self._due(earlier, later, goal, history[-1], COUNT)
        if len(since) > 1:
            return self._due(since[0], since[-1], goal, history[-1], PROJECTED)
        if past > 1:
            return self._due(readings[past - 2], since[0], goal, history[-1], PROJECTED)
        return None

    @staticmethod
    def _due(
        earlier: Reading, later: Reading, goal: Fraction, last: date, limit: str
    ) -> Due | None:
        """Where the line through two readings reaches the number: never before the last time."""
        used, days = later.value - earlier.value, (later.read_on - earlier.read_on).days
        if used <= 0 or (goal - earlier.value) * days > FURTHEST * used:
            return None
        reached = earlier.read_on + timedelta((goal - earlier.value) * days // used)
        return Due(max(reached, last), None, limit)

    def undated(self) -> str:
        return (
            f"the readings of {self._named} do not say when {self.count} more are reached: one on"
            " or before the day it was last done is needed, and use between two readings"
        )

    def words(self) -> str:
        return f"every {self.count} {self._named} by its counter"

    def _because(self, due: Due, last: date) -> str:
        how = "projected from the logged readings" if due.limit == PROJECTED else "by the counter"
        return f"{self.count} {self._named} after {last}, {how}"

    @property
    def _named(self) -> str:
        return self.counter.replace("_", " ")


def _counter(parameters: Mapping[str, Any]) -> str:
    typed = parameters.get("counter", "")
    if not isinstance(typed, str) or not typed.strip() or typed != typed.strip() or len(typed) > 40:
        raise RuleError("counter", typed, "the counter's name, up to 40 letters, as it is logged")
    return typed
