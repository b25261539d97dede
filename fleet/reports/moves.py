"""What moving an outage makes late."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from fleet.models import Outage, SpanState
from fleet.reports.chances import NEEDS_OUTAGE, Chance, Chances
from fleet.reports.due import DueList, DueRow, rows_of
from fleet.reports.due_lines import in_order, lines_of, sources


@dataclass(frozen=True)
class Moved:
    """A line whose last outage before its due date was another one before the move."""

    row: DueRow
    before: Chance | None
    after: Chance | None

    @property
    def is_lost(self) -> bool:
        return self.after is None

    @property
    def is_won(self) -> bool:
        return self.before is None


def moved(outage: Outage, was: tuple[date, date], due: DueList) -> list[Moved]:
    """Lines that a move of this outage leaves without one in time, or gives another.

    was: the days it began and ended before. Those left without one come first. Three queries and
    those of the rows.
    """
    now, units = due.seen.chances, [unit.pk for unit in outage.units.all()]
    then = with_days(now, outage, units, was)
    parts = [
        part.filter(
            line_unit__in=units,
            line_state=SpanState.DATED,
            line_due_on__gte=due.as_of,
            line_activity__in=NEEDS_OUTAGE,
        )
        for part in sources(due.as_of, due.user)
    ]
    touched = []
    for line in lines_of(in_order(parts, "order_on")):
        before, after = (chances.last_before(line.unit, line.due_on) for chances in (then, now))
        if (before and before.pk) != (after and after.pk):
            touched.append((line, before, after))
    rows = rows_of([line for line, _, _ in touched], due.seen)
    found = [Moved(row, *pair) for row, (_, *pair) in zip(rows, touched, strict=True)]
    return sorted(found, key=lambda item: (not item.is_lost, item.is_won))


def with_days(
    chances: Chances, outage: Outage, units: Iterable[int], days: tuple[date, date]
) -> Chances:
    """The same chances, had this outage these days."""
    by_unit = dict(chances.by_unit)
    own = Chance(outage.pk, outage.name, *days)
    for unit in units:
        others = [chance for chance in chances.of(unit) if chance.pk != outage.pk]
        by_unit[unit] = tuple(sorted([*others, own], key=lambda c: (c.starts_on, c.pk)))
    return replace(chances, by_unit=by_unit)
