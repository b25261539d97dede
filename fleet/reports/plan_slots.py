"""Where work can go at all: the outages of each unit with what they offer, and the weeks between.

Slots are known by what they are: an outage by its primary key, an on-stream week by its first day.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from fleet.calc.outages import Slot
from fleet.models import Outage
from fleet.reports.due_lines import Line
from fleet.reports.plan_online import OnStream

SlotId = int | date


@dataclass(frozen=True)
class Slots:
    """outages: of each unit, earliest first; open: of each unit, those that offer anything."""

    outages: Mapping[int, tuple[Outage, ...]]
    open: Mapping[int, tuple[Slot, ...]]
    weeks: tuple[Slot, ...]
    on_stream: OnStream

    @classmethod
    def of(
        cls, outages: Iterable[Outage], from_on: date, weeks: Iterable[Slot], on_stream: OnStream
    ) -> "Slots":
        by_unit: dict[int, list[Outage]] = defaultdict(list)
        for outage in outages:
            for link in outage.unit_links.all():
                by_unit[link.unit_id].append(outage)
        made = {o.pk: slot_of(o, from_on) for here in by_unit.values() for o in here}
        return cls(
            {unit: tuple(here) for unit, here in by_unit.items()},
            {unit: tuple(made[o.pk] for o in here if offered(o) != 0)
             for unit, here in by_unit.items()},
            tuple(weeks),
            on_stream,
        )  # fmt: skip

    def every(self) -> tuple[Slot, ...]:
        """Each once: outages by the day they begin, then weeks."""
        unique = {slot.id: slot for here in self.open.values() for slot in here}
        ordered = sorted(unique.values(), key=lambda slot: (slot.planned_on, slot.id))
        return (*ordered, *self.weeks)

    def at(self, line: Line) -> list[Slot]:
        """Every slot work at a line's position might go to, judged in time by nobody yet."""
        weeks = self.weeks if self.on_stream.offers(line.position) else ()
        return [*self.open.get(line.unit, ()), *weeks]


def slot_of(outage: Outage, from_on: date) -> Slot:
    """Work in an outage that is on already is planned from the day that is planned from."""
    return Slot(outage.pk, max(outage.starts_on, from_on), offered(outage))


def offered(outage: Outage) -> Decimal | None:
    """The bench hours an outage offers: its total, within what its weeks can take; None = nobody
    has said."""
    total = outage.bench_hours
    if outage.weekly_hours is None:
        return total
    weekly = outage.weekly_hours * weeks_in(outage)
    return weekly if total is None else min(total, weekly)


def weeks_in(outage: Outage) -> int:
    """Weeks counted from its first day; one begun counts."""
    return -(-((outage.ends_on - outage.starts_on).days + 1) // 7)
