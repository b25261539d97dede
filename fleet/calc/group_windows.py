"""How many members of a sampled group each window holds, from the spans of its members."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from itertools import accumulate
from typing import NamedTuple

from fleet.calc.clocks import DATED
from fleet.calc.duedates import Span
from fleet.calc.groups import COUNTED_IN
from fleet.calc.intervals import GroupSample


class Step(NamedTuple):
    """From a day on: how many members the window that ends then holds, of how many, and how many
    it must hold."""

    on: date
    held: int
    size: int
    needed: int

    @property
    def short(self) -> int:
        return max(self.needed - self.held, 0)


def holds(shape: GroupSample, last_on: date | None, day: date) -> bool:
    """Whether the window that ends on a day still holds what was last done then."""
    return last_on is not None and last_on <= day < shape.window.after(last_on)


def steps(shape: GroupSample, spans: Iterable[Span]) -> list[Step]:
    """Ascending, one where the numbers change; nobody is held before the first.

    A member is held from the day its clock counts from, a test or its beginning, while that lies in
    the window, as long as the span that counts from it holds.
    """
    sizes: dict[date, int] = defaultdict(int)
    held: dict[date, int] = defaultdict(int)
    for span in spans:
        until = span.until_on or date.max
        if span.state in COUNTED_IN:
            sizes[span.from_on] += 1
            sizes[until] -= 1
        if span.state == DATED and span.last_on is not None:
            begins = max(span.from_on, span.last_on)
            ends = min(until, shape.window.after(span.last_on))
            if begins < ends:
                held[begins] += 1
                held[ends] -= 1
    days = sorted({*sizes, *held} - {date.max})
    counted = accumulate(sizes.get(day, 0) for day in days)
    tested = accumulate(held.get(day, 0) for day in days)
    found: list[Step] = []
    for day, size, number in zip(days, counted, tested, strict=True):
        step = Step(day, number, size, shape.needed(size) if size else 0)
        if not found or found[-1][1:] != step[1:]:
            found.append(step)
    return found


def step_on(found: Iterable[Step], day: date) -> Step:
    """What holds on a day."""
    last = Step(date.min, 0, 0, 0)
    for step in found:
        if step.on > day:
            break
        last = step
    return last
