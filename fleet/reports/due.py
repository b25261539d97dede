"""The due list: one row per obligation, and one for every position that owes nothing yet.

Nothing here works out a date: due dates are what the ledger stamped or recorded, and this says
which hold on a day, in which state, and why.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from typing import Any

from django.conf import settings
from django.db.models import Count, F, Q, QuerySet

from fleet.models import (
    Deferral,
    Device,
    Installation,
    ObligationSpan,
    OutOfService,
    PositionDuty,
    PositionStatus,
    SpanState,
    Unit,
    User,
)
from fleet.reports.chances import Chance, chances_on
from fleet.reports.due_ask import (
    NO_OPPORTUNITY,
    STATUSES,
    Ask,
    Seen,
    asked,
    key_for,
    no_opportunity,
    status_of,
    with_status,
)
from fleet.reports.due_lines import Line, in_order, lines_of, sources
from fleet.reports.proposals import Pending, Proposals
from fleet.reports.reasons import Place, reason_of

CHUNK = 1000
SORTS = {
    "tag": "tag",
    "activity": "activity",
    "state": "order_on",
    "due_on": "order_on",
    "last_outage": "key",
    "next_outage": "key",
}


@dataclass(frozen=True)
class DueRow:
    """One row of the due list; its fields down to `reason` are the columns of every export."""

    site: str
    unit: str
    tag: str
    device: str
    serial: str
    kind: str
    activity: str
    rule: str
    counts_from: str
    last_done_on: date | None
    target_on: date | None
    due_on: date | None
    status: str
    days_left: int | None
    deferred_until: date | None
    open_proposal: str | None
    last_outage_before_due: str | None
    next_outage: str | None
    reason: str
    line: Line
    counted_from: date | None
    last_chance: Chance | None
    next_chance: Chance | None
    deferred_chance: Chance | None  # begins after the due date, inside the deferral
    proposal: Pending | None
    sampled: str  # the group it is sampled in

    def as_dict(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in COLUMNS}


COLUMNS = tuple(DueRow.__dataclass_fields__)[:19]


@dataclass(frozen=True)
class DueList:
    """The due list of a day, as far as a user may see it; without a user, of every site.

    known_at: only what was written down by then; None = what is known now.
    """

    as_of: date
    user: User | None = None
    ask: Ask = field(default_factory=Ask)
    known_at: datetime | None = None

    @cached_property
    def seen(self) -> Seen:
        chances = chances_on(self.as_of, self.user)
        return Seen(self.as_of, settings.DUE_SOON_DAYS, chances, self.known_at)

    @cached_property
    def _sources(self) -> list[QuerySet]:
        return sources(self.as_of, self.user, self.known_at)

    @cached_property
    def _parts(self) -> list[QuerySet]:
        return [asked(part, self.ask, self.seen) for part in self._sources]

    def count(self) -> int:
        """How many rows there are of what is asked."""
        return self._counts[self.ask.status or "all"]

    def counts(self) -> dict[str, int]:
        """How many of each status, whatever status is asked for, and of all."""
        return dict(self._counts)

    @cached_property
    def _counts(self) -> dict[str, int]:
        """One pass over the lines."""
        wanted = {
            status: Count("pk", filter=with_status(status, self.seen))
            for status in (*STATUSES, NO_OPPORTUNITY)
        }
        parts = [asked(part, self.ask, self.seen, any_status=True) for part in self._sources]
        said = [part.aggregate(all=Count("pk"), **wanted) for part in parts]
        return {name: sum(counts[name] for counts in said) for name in ("all", *wanted)}

    def lines(self, start: int = 0, stop: int | None = None, sort: str = "due_on") -> list[Line]:
        """The lines themselves, in order; `sort` is a key of SORTS, "-" in front turns it."""
        turned, name = "-" if sort.startswith("-") else "", sort.lstrip("-")
        key = key_for(name, self.seen) if SORTS[name] == "key" else None
        return lines_of(in_order(self._parts, turned + SORTS[name], key)[start:stop])

    def rows(self, start: int = 0, stop: int | None = None, sort: str = "due_on") -> list[DueRow]:
        """Rows of one page, in a number of queries that does not grow with them."""
        return rows_of(self.lines(start, stop, sort), self.seen)

    def every_row(self, sort: str = "due_on") -> Iterator[DueRow]:
        """Every row, said a thousand at a time."""
        lines = self.lines(sort=sort)
        for start in range(0, len(lines), CHUNK):
            yield from rows_of(lines[start : start + CHUNK], self.seen)


def rows_of(lines: Sequence[Line], seen: Seen) -> list[DueRow]:
    """Lines with everything that is said about them. At most nine queries."""
    facts = Facts.about(lines, seen)
    return [_row(line, seen, facts) for line in lines]


@dataclass(frozen=True)
class Facts:
    """What a page of lines refers to, by primary key."""

    spans: dict[int, ObligationSpan]
    units: dict[int, Unit]
    devices: dict[int, Device]
    places: dict[int, Place]
    deferrals: dict[tuple[int, date], Deferral]
    proposals: Proposals

    @classmethod
    def about(cls, lines: Sequence[Line], seen: Seen) -> "Facts":
        spans = ObligationSpan.objects.select_related(
            "obligation__rule", "event", "decision__decided_by"
        )
        deferred = [line.obligation for line in lines if line.until]
        return cls(
            spans=spans.in_bulk({line.span for line in lines if line.span}),
            units=Unit.objects.select_related("site").in_bulk({line.unit for line in lines}),
            devices=Device.objects.in_bulk({line.device for line in lines if line.device}),
            places=_places(lines, seen.as_of),
            deferrals={
                (deferral.obligation_id, deferral.due_on): deferral
                for deferral in Deferral.objects.filter(obligation__in=deferred).select_related(
                    "approved_by"
                )
            },
            proposals=Proposals.about(lines, seen.as_of, seen.known_at),
        )


ASKS_PLACE = {SpanState.NO_DEVICE, SpanState.NO_RECORD}


def _places(lines: Sequence[Line], as_of: date) -> dict[int, Place]:
    """Only for lines whose reason lies in the place: what stood there last, or its status."""
    empty = [line.position for line in lines if line.state in ASKS_PLACE]
    idle = [line.position for line in lines if line.state == SpanState.NOT_REQUIRED]
    places = {}
    spells = Installation.objects.filter(position__in=empty, installed_on__lte=as_of)
    for spell in spells.select_related("device").order_by("installed_on"):
        places[spell.position_id] = Place(spell=spell)
    duties = PositionDuty.objects.filter(Q(from_on=None) | Q(from_on__lte=as_of))
    ordered = duties.filter(position__in=idle).order_by(F("from_on").asc(nulls_first=True))
    for position, status, since in ordered.values_list("position", "status", "from_on"):
        before = places.get(position)
        if before is None or before.status != status:
            places[position] = Place(status=status, since=since)
    for out in OutOfService.objects.on(as_of).filter(position__in=idle):
        places[out.position_id] = Place(
            status=PositionStatus.OUT_OF_SERVICE, since=out.from_on, how=out.how
        )
    return places


def _row(line: Line, seen: Seen, facts: Facts) -> DueRow:
    span = facts.spans.get(line.span) if line.span else None
    device = facts.devices.get(line.device) if line.device else None
    unit = facts.units[line.unit]
    status = status_of(line.state, line.due_on, line.until, seen)
    last, following = seen.chances.last_before(line.unit, line.due_on), seen.chances.next(line.unit)
    deferral = facts.deferrals.get((line.obligation, line.due_on)) if line.until else None
    pending = facts.proposals.of(line)
    return DueRow(
        site=unit.site.name,
        unit=unit.name,
        tag=line.tag,
        device=device.number if device else "",
        serial=device.serial if device else "",
        kind=device.kind if device else "",
        activity=line.activity,
        rule=span.obligation.rule.code if span else "",
        counts_from=span.obligation.counts_from if span else "",
        last_done_on=span.event.done_on if span and span.event else None,
        target_on=span.target_on if span else None,
        due_on=line.due_on,
        status=status,
        days_left=(line.due_on - seen.as_of).days if line.due_on else None,
        deferred_until=line.until,
        open_proposal=str(pending) if pending else None,
        last_outage_before_due=last.name if last else None,
        next_outage=following.name if following else None,
        reason=reason_of(
            line.state, span, facts.places.get(line.position, Place()), deferral, status
        ),
        line=line,
        counted_from=span.last_on if span else None,
        last_chance=last,
        next_chance=following,
        deferred_chance=seen.chances.within(line.unit, line.due_on, line.until),
        proposal=pending,
        sampled=span.obligation.group if span else "",
    )


def due_rows(
    as_of: date, *, user: User | None = None, ask: Ask | None = None, sort: str = "due_on"
) -> Iterator[DueRow]:
    """Every row of a day's due list."""
    return DueList(as_of, user, ask or Ask()).every_row(sort)


__all__ = ["COLUMNS", "Ask", "DueList", "DueRow", "due_rows", "no_opportunity"]
