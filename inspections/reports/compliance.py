"""The compliance list: what each position owed on a day, in which state, and on what evidence.

Lines, dates and states are those of the due list, seen from that day and, where asked, from what
was written down by the end of another; nothing here works out a date or a state of its own.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any

from django.conf import settings

from fleet import clock
from fleet.calc.units import parse_duration
from fleet.models import (
    IntervalRule,
    ObligationSpan,
    ServiceEvent,
    SpanState,
    User,
)
from fleet.reports.due import CHUNK, Ask, DueList
from fleet.reports.due_ask import status_of
from fleet.reports.due_lines import Line, View
from fleet.reports.proposals import Pending
from inspections.reports.compliance_facts import Facts
from inspections.reports.evidence import Evidence

NO_EVIDENCE = Evidence()


@dataclass(frozen=True)
class ComplianceRow:
    """One line; its fields down to `late_entry` are the columns of every export."""

    as_of: date
    site: str
    unit: str
    tag: str
    device: str
    serial: str
    kind: str
    equipment: str
    set_pressure: str
    activity: str
    rule: str
    source: str
    interval: str
    interval_basis: str
    last_done_on: date | None
    ref: str
    done_by: str
    verified_by: str
    description: str
    result: str
    opened_at: str
    reseated_at: str
    disposition: str
    due_on: date | None
    status: str
    deferred_until: date | None
    deferral_policy: str
    deferral_approved_by: str
    open_questions: int
    late_entry: str
    line: Line
    inspection: int | None
    counted_from: date | None
    recorded_on: date | None
    proposal: Pending | None

    def as_dict(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in COLUMNS}


COLUMNS = tuple(ComplianceRow.__dataclass_fields__)[:30]


@dataclass(frozen=True)
class ComplianceList:
    """The list of a day; without a user, of every site. known_on: as it was known that evening."""

    as_of: date
    known_on: date | None = None
    user: User | None = None
    ask: Ask = field(default_factory=Ask)

    @cached_property
    def known_at(self) -> datetime | None:
        return clock.end_of(self.known_on) if self.known_on else None

    @property
    def is_known_before(self) -> bool:
        """Seen from before the day it is about."""
        return self.known_on is not None and self.known_on < self.as_of

    @cached_property
    def due(self) -> DueList:
        return DueList(self.as_of, self.user, self.ask, self.known_at)

    def count(self) -> int:
        return self.due.count()

    def counts(self) -> dict[str, int]:
        """How many lines of each status, whatever status is asked for; and of all."""
        return self.due.counts()

    def rows(
        self, start: int = 0, stop: int | None = None, sort: str = "due_on"
    ) -> list[ComplianceRow]:
        """Rows of one page, in a number of queries that does not grow with them."""
        return self._rows_of(self.due.lines(start, stop, sort))

    def every_row(self, sort: str = "due_on") -> Iterator[ComplianceRow]:
        lines = self.due.lines(sort=sort)
        for start in range(0, len(lines), CHUNK):
            yield from self._rows_of(lines[start : start + CHUNK])

    def _rows_of(self, lines: Sequence[Line]) -> list[ComplianceRow]:
        facts = Facts.about(lines, View(self.as_of, self.known_at))
        return [_row(line, self.due, facts) for line in lines]


def _row(line: Line, due: DueList, facts: Facts) -> ComplianceRow:
    span = facts.spans.get(line.span) if line.span else None
    event = span.event if span else None
    deferral = facts.deferrals.get((line.obligation, line.due_on)) if line.until else None
    return ComplianceRow(
        as_of=due.as_of,
        **_where(line, facts),
        activity=line.activity,
        **_rule(span),
        **_evidence(span, facts),
        due_on=line.due_on,
        status=status_of(line.state, line.due_on, line.until, due.seen),
        deferred_until=line.until,
        deferral_policy=deferral.policy if deferral else "",
        deferral_approved_by=str(deferral.approved_by) if deferral else "",
        open_questions=facts.questions.count(line),
        late_entry=late_entry(event) if event else "",
        line=line,
        counted_from=span.last_on if span else None,
        recorded_on=clock.day_of(event.recorded_at) if event else None,
        proposal=facts.proposals.of(line),
    )


def _where(line: Line, facts: Facts) -> dict[str, Any]:
    """The place that day, and what was fitted."""
    device = facts.devices.get(line.device) if line.device else None
    unit, duty = facts.units[line.unit], facts.duties.get(line.position)
    return {
        "site": unit.site.name,
        "unit": unit.name,
        "tag": line.tag,
        "device": device.number if device else "",
        "serial": device.serial if device else "",
        "kind": device.kind if device else "",
        "equipment": str(facts.positions[line.position].equipment or ""),
        "set_pressure": str(duty.set_pressure or "") if duty else "",
    }


def _rule(span: ObligationSpan | None) -> dict[str, Any]:
    if span is None:
        return dict.fromkeys(("rule", "source", "interval", "interval_basis"), "")
    rule = span.obligation.rule
    return {
        "rule": rule.code,
        "source": source_of(rule),
        "interval": _interval(span),
        "interval_basis": _basis(span),
    }


def _evidence(span: ObligationSpan | None, facts: Facts) -> dict[str, Any]:
    event = span.event if span else None
    said = facts.evidence.get(event.pk, NO_EVIDENCE) if event else NO_EVIDENCE
    return {
        "last_done_on": _last_done(span) if span else None,
        "ref": event.ref if event else "",
        "done_by": said.done_by,
        "verified_by": said.verified_by,
        "description": said.description or _counted_without_record(span),
        "result": said.result,
        "opened_at": said.opened_at,
        "reseated_at": said.reseated_at,
        "disposition": said.disposition,
        "inspection": said.inspection,
    }


def source_of(rule: IntervalRule) -> str:
    """Where the rule stands, and whether anybody held it against a copy."""
    edition = f", {rule.edition}" if rule.edition else ""
    return f"{rule.citation}{edition}{'' if rule.is_verified else ' (not checked against a copy)'}"


def _interval(span: ObligationSpan) -> str:
    """The rule in words, with the decided interval where one is in force."""
    shape, decision = span.obligation.rule.shape, span.decision
    if span.state == SpanState.INTERVAL_NOT_SET:
        return ""
    if decision is not None:
        shape = shape.with_interval(parse_duration(decision.interval))
    return shape.words()


def _basis(span: ObligationSpan) -> str:
    decision = span.decision
    if span.state == SpanState.INTERVAL_NOT_SET:
        return "the rule leaves it to a decision, and none is recorded"
    if decision is None:
        return "the rule"
    evidence = f" ({decision.evidence})" if decision.evidence else ""
    return f"decided by {decision.decided_by} from {decision.from_on}: {decision.reason}{evidence}"


def _last_done(span: ObligationSpan) -> date | None:
    """The day it was done; of a replacement, the day the device went in."""
    if span.event is not None:
        return span.event.done_on
    return span.last_on if span.obligation.activity == "replacement" else None


def _counted_without_record(span: ObligationSpan | None) -> str:
    """What a date rests on where no event does: the fitting, or commissioning."""
    if span is None or span.event is not None or span.last_on is None:
        return ""
    if span.obligation.activity == "replacement":
        return "device fitted"
    return f"not done yet, counts from {span.last_on}"


def late_entry(event: ServiceEvent) -> str:
    """`yes` when it was written down long after it was done; what a first load brings is not."""
    if event.is_baseline:
        return "no"
    allowed = event.done_on + timedelta(days=settings.LATE_ENTRY_DAYS)
    return "yes" if clock.day_of(event.recorded_at) > allowed else "no"


def summary_of(listing: ComplianceList) -> dict[str, Any]:
    """For the end of the list: from where it is seen, and how many lines of each status."""
    counts = listing.counts()
    counts.pop("no_opportunity", None)
    return {"as_of": listing.as_of, "as_known_on": listing.known_on, **counts}
