"""The columns of the outages, and of what one has to take."""

from decimal import Decimal

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from fleet.listing import Loaded
from fleet.models import Outage
from fleet.reports.due import DueRow
from fleet.reports.outages import (
    DEFERRED,
    IN_TIME,
    LATE,
    NO_RECORD,
    OVERDUE,
    SCOPE_SORTS,
    Scope,
    Work,
)
from fleet.reports.reasons import activity_words, with_day_words
from fleet.tables.cells import cells, day, days_words, proposed, tag
from fleet.templatetags.drawings import state

STANDS = (Outage.Status.PLANNED, Outage.Status.UNDER_WAY)


def hours_words(hours: Decimal | None) -> str:
    """`12.5 h`, without the zeros nobody typed."""
    return "not given" if hours is None else f"{hours.normalize():f} h"


class OutageTable(tables.Table):
    """Outages still to come: their days, and whether the bench can take what they bring."""

    name = tables.Column(verbose_name="Outage", accessor="outage__name", attrs=cells("key"))
    starts_on = tables.Column(verbose_name="Days", accessor="outage__starts_on")
    status = tables.Column(verbose_name="Stands", accessor="outage__status", attrs=cells("say"))
    scope = tables.Column(verbose_name="In scope", accessor="count", attrs=cells("n"))
    late = tables.Column(verbose_name="Late by then", accessor="late", attrs=cells("n"))
    needed = tables.Column(
        verbose_name="Bench hours needed", accessor="hours_needed", attrs=cells("n")
    )
    offered = tables.Column(
        verbose_name="Offered", accessor="outage__bench_hours", attrs=cells("n"), empty_values=()
    )

    class Meta:
        empty_text = "No outage is planned."

    def render_name(self, record: Scope) -> SafeString:
        units = [unit.name for unit in record.outage.units.all()]
        return tag("outage", record.outage.pk, record.outage.name, *units)

    def render_starts_on(self, record: Scope) -> SafeString:
        row = record.outage
        length = (row.ends_on - row.starts_on).days + 1
        return format_html(
            "{} to {}<small>{}</small>", day(row.starts_on), day(row.ends_on), days_words(length)
        )

    def render_status(self, record: Scope) -> SafeString:
        reason = "" if record.outage.status in STANDS else "serves nothing until it is planned"
        return state(record.outage.status, "", reason)

    def render_scope(self, record: Scope) -> str:
        return f"{record.count()}" if record.outage.status in STANDS else ""

    def render_late(self, record: Scope) -> str:
        return f"{record.late}" if record.outage.status in STANDS else ""

    def render_needed(self, record: Scope) -> SafeString | str:
        if record.outage.status not in STANDS:
            return ""
        missing = record.missing_hours
        words = f"and {missing} whose hours nobody gave" if missing else ""
        return format_html("{}<small>{}</small>", hours_words(record.hours_needed), words)

    def render_offered(self, record: Scope) -> SafeString | str:
        short = record.hours_short
        words = (
            format_html('<small class="late">{} short</small>', hours_words(short)) if short else ""
        )
        return format_html("{}{}", hours_words(record.outage.bench_hours), words)


STANDING_STATES = {
    NO_RECORD: ("no_record", "no record"),
    OVERDUE: ("overdue", "late already"),
    LATE: ("overdue", "late"),
    DEFERRED: ("overdue_deferred", "inside its deferral"),
    IN_TIME: ("compliant", "in time"),
}


class ScopeTable(tables.Table):
    """What one outage has to take, each line with why it is in its scope."""

    tag = tables.Column(verbose_name="Position", attrs=cells("key"), empty_values=())
    activity = tables.Column(verbose_name="Owes", empty_values=())
    standing = tables.Column(
        verbose_name="When it begins", orderable=False, attrs=cells("say"), empty_values=()
    )
    due_on = tables.Column(verbose_name="Due", attrs=cells("n"), empty_values=())
    hours = tables.Column(verbose_name="Bench hours", attrs=cells("n"), empty_values=())

    class Meta:
        empty_text = "Nothing has this as its last outage before it is due."

    def __init__(self, scope: Scope) -> None:
        super().__init__(Loaded(scope, SCOPE_SORTS, "due_on"))

    def render_tag(self, record: tuple[Work, DueRow]) -> SafeString:
        work, row = record
        return tag("position", work.line.position, row.tag, row.unit, row.device)

    def render_activity(self, record: tuple[Work, DueRow]) -> SafeString | str:
        work, _ = record
        words = activity_words(work.line.activity)
        if work.covered_by:
            done_by = f"done by the {activity_words(work.covered_by)}"
            return format_html("{}<small>{}</small>", words, done_by)
        if work.is_on_stream:
            return format_html("{}<small>{}</small>", words, "can be done on stream")
        return words

    def render_standing(self, record: tuple[Work, DueRow]) -> SafeString:
        return format_html("{}{}", self._stands(*record), proposed(record[1].proposal))

    def _stands(self, work: Work, row: DueRow) -> SafeString:
        status, words = STANDING_STATES[work.standing]
        if work.is_on_stream and work.standing == LATE:
            words = f"due {days_words(work.days_late)} before it"
            return state("due_soon", words, with_day_words(row.reason))
        if work.days_late and work.standing != NO_RECORD:
            words = f"{days_words(work.days_late)} {words if work.standing == LATE else 'late'}"
            words = f"{words}, deferred" if work.standing == DEFERRED else words
        return state(status, words, with_day_words(row.reason))

    def render_due_on(self, record: tuple[Work, DueRow]) -> SafeString | str:
        on = record[1].due_on
        return day(on) if on else ""

    def render_hours(self, record: tuple[Work, DueRow]) -> SafeString | str:
        work, _ = record
        if work.covered_by:
            return ""
        if work.hours is None and work.is_on_stream:
            return ""
        return hours_words(work.hours)
