"""The visits that a month of the workload ahead consists of."""

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from fleet.listing import InHand, Loaded
from fleet.reports.reasons import activity_words
from fleet.reports.workload_month import SORTS, MonthRow
from fleet.tables.cells import cells, day, link, tag


class VisitTable(tables.Table):
    """A row a visit."""

    tag = tables.Column(attrs=cells("key"))
    activities = tables.Column(verbose_name="Work", orderable=False, attrs=cells("words"))
    on = tables.Column(verbose_name="Counted on")
    because = tables.Column(verbose_name="Because", orderable=False, attrs=cells("words"))
    due_on = tables.Column(verbose_name="Due", empty_values=())
    hours = tables.Column(verbose_name="Hours", attrs=cells("n"), empty_values=())

    class Meta:
        empty_text = "No visit falls in this month."

    def __init__(self, rows: list[MonthRow]) -> None:
        super().__init__(Loaded(InHand(rows, SORTS), SORTS, "on"))

    def render_tag(self, record: MonthRow) -> SafeString:
        return tag("position", record.position, record.tag, record.unit)

    def render_activities(self, record: MonthRow) -> SafeString:
        said = ", ".join(activity_words(activity) for activity in record.activities)
        return format_html("{}<small>{}</small>", said, record.turn_words)

    def render_on(self, record: MonthRow) -> SafeString:
        return day(record.on)

    def render_because(self, record: MonthRow) -> SafeString | str:
        if record.outage is None:
            return record.because
        return format_html("{} {}", record.because, link("outage", *record.outage))

    def render_due_on(self, record: MonthRow) -> SafeString | str:
        return "owed now, no record" if record.due_on is None else day(record.due_on)

    def render_hours(self, record: MonthRow) -> str:
        return record.hours_words
