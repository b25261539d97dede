"""When what is owed comes again, had it been done on a day still ahead.

A rule says it itself (`Shape.due`), under the decisions that will be in force by then. What only a
counter, a happening or a decision not yet taken could say has no day, and none is guessed.
"""

from bisect import bisect_right
from collections.abc import Sequence
from datetime import date, timedelta

from fleet.calc.clocks import Regime
from fleet.calc.intervals import Calendar, Known, Rolling, Shape

ONE_DAY = timedelta(days=1)
History = tuple[date, ...]


class Cycle:
    """How one thing owed comes again. `regimes`: its rule, then as each decision leaves it.

    season (MM-DD) and in_service_on are asked by rules that follow them. remembers: how many of
    the last days it may ask for. Answers are kept, so what is owed alike may share one.
    """

    def __init__(
        self, regimes: Sequence[Regime], season: str = "", in_service_on: date | None = None
    ) -> None:
        self.regimes = regimes
        self.starts = [regime.from_on for regime in regimes]
        self.known = Known(in_service_on=in_service_on, season=season)
        self.remembers = _remembers(regimes[0].shape)
        self.answers: dict[History, date | None] = {}

    def after(self, history: Sequence[date]) -> date | None:
        """The day it is due again after these days, ascending, later than the last; None = none."""
        counted = tuple(history[-self.remembers :])
        if counted not in self.answers:
            self.answers[counted] = self._after(counted)
        return self.answers[counted]

    def _after(self, history: History) -> date | None:
        """A decision that begins before the day then due dates the running clock anew; what it
        makes overdue at once is due the day it begins."""
        last, due_on = history[-1], None
        for regime in self.regimes[bisect_right(self.starts, last) - 1 :]:
            if due_on is not None and regime.from_on > due_on:
                break
            known = self.known._replace(day=max(last, regime.from_on))
            due = regime.due(history, known, was_running=True)
            due_on = max(due.due_on, regime.from_on) if due else None
        return None if due_on is None else max(due_on, last + ONE_DAY)


def _remembers(shape: Shape) -> int:
    """More than the last day only where so many are counted; no decision changes that."""
    if isinstance(shape, Calendar):
        return shape.times
    return shape.count if isinstance(shape, Rolling) else 1
