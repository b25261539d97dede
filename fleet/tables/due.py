"""The due list's columns, and how each cell is said or drawn."""

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from fleet import clock, permissions
from fleet.drawings.axis import TimeAxis, axis_head, day_words
from fleet.drawings.interval_line import OutageSpan, interval_line
from fleet.drawings.states import state_of
from fleet.drawings.svg import render
from fleet.listing import Loaded
from fleet.reports.chances import ON_STREAM, Chance
from fleet.reports.due import SORTS, DueList, DueRow
from fleet.reports.reasons import activity_words, with_day_words
from fleet.tables.cells import cells, day, days_words, link, proposed, tag
from fleet.templatetags.drawings import state


def status_words(row: DueRow) -> str:
    """`overdue 41 days`, `due in 37 days`; the word alone where no day is counted."""
    if row.status == "overdue" and row.days_left is not None:
        return f"overdue {days_words(row.days_left)}"
    if row.status == "overdue_deferred" and row.deferred_until:
        return f"past its date, deferred to {day_words(row.deferred_until)}"
    if row.status == "due_soon" and row.days_left is not None:
        return f"due in {days_words(row.days_left)}" if row.days_left else "due today"
    return state_of(row.status).words


class DueTable(tables.Table):
    tag = tables.Column(verbose_name="Position", attrs=cells("key"))
    activity = tables.Column(verbose_name="Owes", attrs=cells("owes"), empty_values=())
    state = tables.Column(verbose_name="State", attrs=cells("say"), accessor="status")
    due_on = tables.Column(verbose_name="Due", attrs=cells("n"), default="")
    line = tables.Column(orderable=False, attrs=cells("line"), empty_values=())
    last_outage = tables.Column(
        verbose_name="Last outage before due", attrs=cells("last"), empty_values=()
    )
    next_outage = tables.Column(verbose_name="Next", attrs=cells("wide rare"), empty_values=())

    class Meta:
        empty_text = "Nothing matches what is asked."

    def __init__(self, due: DueList) -> None:
        super().__init__(Loaded(due, SORTS, "due_on"), order_by="due_on")
        self.due = due
        self.axis, self.today = TimeAxis.around(due.as_of), clock.today()
        self.has_sites = due.user is None or len(due.user.site_ids()) > 1

    def header_line(self) -> SafeString:
        return mark_safe(render(axis_head(self.axis, self.due.as_of)))

    def render_tag(self, record: DueRow) -> SafeString:
        site = record.site if self.has_sites else ""
        position = record.line.position
        return tag("position", position, record.tag, site, record.unit, record.device)

    def render_activity(self, record: DueRow) -> SafeString | str:
        words = activity_words(record.activity)
        if not record.sampled or record.line.obligation is None:
            return words
        group = link("group", record.line.obligation, record.sampled)
        return format_html("{}<small>sampled in {}</small>", words, group)

    def render_state(self, record: DueRow) -> SafeString:
        said = state(record.status, status_words(record), with_day_words(record.reason))
        return format_html("{}{}", said, proposed(record.proposal))

    def render_due_on(self, record: DueRow) -> SafeString | str:
        return day(record.due_on)

    def render_line(self, record: DueRow) -> SafeString:
        scene = interval_line(
            self.axis,
            record.counted_from,
            record.due_on,
            self.due.as_of,
            [
                OutageSpan(c.starts_on, c.ends_on, c.name)
                for c in self.due.seen.chances.of(record.line.unit)
            ],
            record.deferred_until,
            record.status,
        )
        return mark_safe(render(scene))

    def render_last_outage(self, record: DueRow) -> SafeString | str:
        if record.last_chance:
            return _outage(record.last_chance)
        if record.deferred_chance:
            return format_html(
                "{}<small>inside the deferral</small>", _outage(record.deferred_chance)
            )
        if not record.due_on:
            return ""
        return "on stream" if record.activity in ON_STREAM else self._none_in_time(record)

    def _none_in_time(self, record: DueRow) -> SafeString | str:
        following, leave = record.next_chance, self._leave(record)
        if following is None:
            return format_html("none planned{}", leave)
        days = (following.starts_on - record.due_on).days
        words = f"{following.name} begins {days_words(days)} late"
        return format_html("none before due<small>{}</small>{}", words, leave)

    def _leave(self, record: DueRow) -> SafeString | str:
        """Where leave can still be asked for, before the date."""
        is_ahead = record.due_on is not None and record.due_on >= self.today
        if not is_ahead or record.deferred_until or self.due.user is None:
            return ""
        if not self.due.user.may(permissions.REQUEST_DEFERRAL, record.line.site):
            return ""
        return format_html(
            "<small>{}</small>", link("deferral_ask", record.line.obligation, "Ask for leave")
        )

    def render_next_outage(self, record: DueRow) -> SafeString | str:
        if record.next_chance is None:
            return ""
        return format_html(
            "{}<small>{}</small>",
            _outage(record.next_chance),
            day_words(record.next_chance.starts_on),
        )


def _outage(chance: Chance) -> SafeString:
    return link("outage", chance.pk, chance.name)
