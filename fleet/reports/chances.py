"""Which outages can still serve a unit, seen from a day."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from fleet.models import Outage, User

NEEDS_OUTAGE = ("bench_test", "overhaul", "disc_change", "replacement")
ON_STREAM = ("visual", "lever", "in_place_test", "capacity_review")


@dataclass(frozen=True)
class Chance:
    """One outage of one unit."""

    pk: int
    name: str
    starts_on: date
    ends_on: date


@dataclass(frozen=True)
class Chances:
    """Each unit's outages from a day on, earliest first."""

    by_unit: Mapping[int, tuple[Chance, ...]]

    def of(self, unit: int) -> tuple[Chance, ...]:
        return self.by_unit.get(unit, ())

    def next(self, unit: int) -> Chance | None:
        """The one that is on, or the first to begin."""
        return next(iter(self.of(unit)), None)

    def last_before(self, unit: int, due_on: date | None) -> Chance | None:
        """The last that begins on or before the due date: waiting beyond it is late."""
        serving = [c for c in self.of(unit) if due_on and c.starts_on <= due_on]
        return serving[-1] if serving else None

    def around(self, unit: int, pk: int, starts_on: date) -> tuple[list[Chance], list[Chance]]:
        """The unit's other outages: those that begin before this one, and after it."""
        others = [c for c in self.of(unit) if c.pk != pk]
        place = (starts_on, pk)
        return (
            [c for c in others if (c.starts_on, c.pk) < place],
            [c for c in others if (c.starts_on, c.pk) > place],
        )

    def within(self, unit: int, after: date | None, until: date | None) -> Chance | None:
        """The first that begins after one day and on or before another (a deferral's span)."""
        if after is None or until is None:
            return None
        return next((c for c in self.of(unit) if after < c.starts_on <= until), None)


def still_serving(as_of: date) -> Q:
    """Outages that can serve from this day on. Draft and cancelled ones promise nothing; one that
    is done counts only as of a day before it began."""
    standing = Q(status__in=(Outage.Status.PLANNED, Outage.Status.UNDER_WAY))
    was_to_come = Q(status=Outage.Status.DONE, starts_on__gt=as_of)
    return Q(ends_on__gte=as_of) & (standing | was_to_come)


def outages_for(user: User | None) -> QuerySet[Outage]:
    """The outages a user may see; without a user (the command line), all."""
    return Outage.objects.all() if user is None else Outage.objects.visible_to(user)


def chances_on(as_of: date, user: User | None = None) -> Chances:
    """One query, whatever the number of units."""
    grouped: dict[int, list[Chance]] = defaultdict(list)
    rows = outages_for(user).filter(still_serving(as_of)).exclude(units=None)
    for unit, *outage in rows.order_by("starts_on", "pk").values_list(
        "units", "pk", "name", "starts_on", "ends_on"
    ):
        grouped[unit].append(Chance(*outage))
    return Chances({unit: tuple(chances) for unit, chances in grouped.items()})
