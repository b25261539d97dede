"""What there is to place: a site's lines as visits, and the outages and weeks they may go to.

Visits are known by the position and their largest line's obligation.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cached_property

from django.db.models import F, Q

from fleet.calc.outages import Line as Due
from fleet.calc.outages import Problem, Room, Visit, choices
from fleet.calc.visits import Owed, bundled
from fleet.models import Outage, PositionDuty, Site, SpanState
from fleet.reports.chances import NEEDS_OUTAGE, still_serving
from fleet.reports.due_lines import Line, in_order, lines_of, sources
from fleet.reports.outages import Hours
from fleet.reports.plan_hand import Hand, hand_of
from fleet.reports.plan_online import OnStream, on_stream_of, weeks_of
from fleet.reports.plan_slots import SlotId, Slots

SEVERITIES = {"moderate": 1, "severe": 2}
VisitId = tuple[int, int]


@dataclass(frozen=True)
class Service:
    """What the duty of a position says to a planner."""

    severity: str
    isolation: str


@dataclass(frozen=True)
class Work:
    """Everything a proposal rests on.

    visits: the lines of each visit, the largest first. in_place: lines that need neither outage
    nor bench.
    """

    site: Site
    from_on: date
    to_on: date
    outages: Mapping[int, Outage]
    slots: Slots
    visits: Mapping[VisitId, list[Line]]
    in_place: Sequence[Line]
    hours: Hours
    services: Mapping[int, Service]
    hand: Hand

    @cached_property
    def problem(self) -> Problem:
        """The same in the solver's terms."""
        free = Problem(
            from_on=self.from_on,
            slots=self.slots.every(),
            visits=tuple(self._visit(key, lines) for key, lines in self.visits.items()),
            rooms=tuple(self._rooms()),
            accepted=self.hand.accepted(self.visits),
        )
        pins = self.hand.pins(choices(free), {slot.id for slot in free.slots})
        return replace(free, pins=pins, bars=self.hand.bars(self.visits, self.outages))

    def _rooms(self) -> Iterator[Room]:
        weeks = [slot.id for slot in self.slots.weeks]
        return self.slots.on_stream.rooms(self.visits, weeks)

    @property
    def on_stream(self) -> OnStream:
        """What speaks for and against work at a position while its unit runs."""
        return self.slots.on_stream

    def outages_at(self, line: Line) -> Sequence[Outage]:
        """The outages of a line's unit, earliest first."""
        return self.slots.outages.get(line.unit, ())

    def day_of(self, slot: SlotId) -> date:
        """When work in a slot is planned."""
        return slot if isinstance(slot, date) else max(self.outages[slot].starts_on, self.from_on)

    def serves(self, line: Line, outage: int) -> bool:
        """In time, inside its deferral, or for what has no date at all."""
        day = self.day_of(outage)
        return line.due_on is None or day <= line.due_on or bool(line.until and day <= line.until)

    def service(self, position: int) -> Service:
        return self.services.get(position, NO_SERVICE)

    def hours_of(self, lines: Sequence[Line]) -> Decimal | None:
        """What a visit takes; None where nobody has said."""
        return self.hours.for_line(lines[0])

    def _visit(self, key: VisitId, lines: Sequence[Line]) -> Visit:
        severity = self.service(lines[0].position).severity
        return Visit(
            id=key,
            lines=tuple(_due(line) for line in lines),
            hours=self.hours_of(lines) or Decimal(),
            slots=tuple(slot.id for slot in self.slots.at(lines[0])),
            severity=SEVERITIES.get(severity, 0),
        )


NO_SERVICE = Service("", "none")


def work_of(site: Site, from_on: date, to_on: date, asked_on: date | None = None) -> Work:
    """What falls due at a site in [from_on, to_on], what is overdue and what has no record.

    The day it is seen from is `from_on`; the day it is asked on says which outages are frozen: a
    freeze that is still to come holds nothing back. About fifteen queries, whatever the number of
    lines.
    """
    lines = _lines(site, from_on, to_on)
    outages = _outages(site, from_on, to_on, lines)
    services = _services(site, from_on)
    bench = [line for line in lines if line.activity in NEEDS_OUTAGE]
    on_stream = on_stream_of({line.position for line in bench}, services, from_on)
    weeks = weeks_of(site, from_on, to_on, outages.values()) if on_stream.held else []
    slots = Slots.of(outages.values(), from_on, weeks, on_stream)
    return Work(
        site=site,
        from_on=from_on,
        to_on=to_on,
        outages=outages,
        slots=slots,
        visits=_visits(bench, slots),
        in_place=[line for line in lines if line.activity not in NEEDS_OUTAGE],
        hours=Hours.of(lines),
        services=services,
        hand=hand_of(site, asked_on or from_on),
    )


def _lines(site: Site, from_on: date, to_on: date) -> list[Line]:
    wanted = Q(line_state=SpanState.DATED, line_due_on__lte=to_on)
    wanted |= Q(line_state=SpanState.NO_RECORD)
    parts = [part.filter(wanted, line_site=site.pk) for part in sources(from_on)]
    return [line for line in lines_of(in_order(parts, "order_on")) if line.obligation]


def _outages(site: Site, from_on: date, to_on: date, lines: Sequence[Line]) -> dict[int, Outage]:
    """Those that can still serve, up to the last day any line or leave asks for."""
    until = max((line.until for line in lines if line.until), default=to_on)
    rows = Outage.objects.filter(still_serving(from_on), site=site)
    rows = rows.filter(starts_on__lte=max(to_on, until)).prefetch_related("unit_links")
    return {outage.pk: outage for outage in rows.order_by("starts_on", "pk")}


def _services(site: Site, day: date) -> dict[int, Service]:
    duties = PositionDuty.objects.filter(position__site=site)
    duties = duties.filter(Q(from_on=None) | Q(from_on__lte=day))
    ordered = duties.order_by(F("from_on").asc(nulls_first=True))
    rows = ordered.values_list("position", "severity", "isolation")
    return {position: Service(severity, isolation) for position, severity, isolation in rows}


def _due(line: Line) -> Due:
    return Due(line.obligation, line.due_on, line.until)


def _visits(bench: Sequence[Line], slots: Slots) -> dict[VisitId, list[Line]]:
    at: dict[int, list[Line]] = defaultdict(list)
    for line in bench:
        at[line.position].append(line)
    visits = {}
    for lines in at.values():
        by_id = {line.obligation: line for line in lines}
        owed = [Owed(_due(line), line.activity) for line in lines]
        for visit in bundled(owed, slots.at(lines[0])):
            found = [by_id[each.line.id] for each in visit]
            visits[found[0].position, found[0].obligation] = found
    return visits
