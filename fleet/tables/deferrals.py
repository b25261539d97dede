"""The columns of the deferrals: leave asked for, in force, run out."""

from datetime import date

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from fleet import permissions
from fleet.calc.deferrals import POLICIES
from fleet.listing import Loaded
from fleet.models import Deferral
from fleet.reports.deferrals import ASKED, EXPIRED, IN_FORCE, SORTS, LeaveRow, Leaves
from fleet.reports.reasons import activity_words
from fleet.tables.cells import cells, day, days_words, link, tag
from fleet.templatetags.drawings import state


def standing(row: LeaveRow, today: date) -> tuple[str, str]:
    """(status, words): `asked 12 days ago`, `past its date, 40 days left`, `expired 3 days ago`."""
    if row.state == ASKED:
        return ASKED, f"asked {days_words(row.days)} ago" if row.days else "asked today"
    if row.state == IN_FORCE:
        left = f"{days_words(row.days)} left" if row.days else "last day"
        if row.due_on < today:
            return "overdue_deferred", f"past its date, {left}"
        return IN_FORCE, f"in force, {left}"
    if row.state == EXPIRED:
        return EXPIRED, f"expired {days_words(row.days)} ago"
    return row.state, ""


class LeaveTable(tables.Table):
    tag = tables.Column(verbose_name="Position", attrs=cells("key"), empty_values=())
    activity = tables.Column(
        verbose_name="Owes", attrs=cells("owes"), orderable=False, empty_values=()
    )
    state = tables.Column(verbose_name="Stands", attrs=cells("say"), empty_values=())
    due_on = tables.Column(verbose_name="Due", attrs=cells("n"))
    until_on = tables.Column(verbose_name="Until", attrs=cells("n"))
    asked = tables.Column(verbose_name="Asked by", orderable=False, empty_values=())
    answered = tables.Column(verbose_name="Answered by", orderable=False, empty_values=())

    class Meta:
        attrs = {"class": "tall"}
        empty_text = "No leave to pass a due date was asked for or given."

    def __init__(self, leaves: Leaves) -> None:
        super().__init__(Loaded(leaves, SORTS, "state"), order_by="state")
        self.user, self.today = leaves.user, leaves.today
        self.has_sites = len(leaves.user.site_ids()) > 1

    def render_tag(self, record: LeaveRow) -> SafeString:
        site = record.site if self.has_sites else ""
        return tag("position", record.position, record.tag, site, record.unit)

    def render_activity(self, record: LeaveRow) -> str:
        return activity_words(record.activity)

    def render_state(self, record: LeaveRow) -> SafeString:
        papers = [
            f"Meanwhile: {record.interim_measure}" if record.interim_measure else "",
            record.document,
        ]
        parts = [part.rstrip(". ") for part in (record.reason, *papers) if part]
        words = "".join(f" {part}." for part in parts)
        policy = Deferral.Policy(record.policy).label.capitalize()
        source = POLICIES[record.policy].source
        beneath = format_html("{}, {}.{}", policy, source, words)
        return state(*standing(record, self.today), beneath)

    def render_due_on(self, record: LeaveRow) -> SafeString:
        return day(record.due_on)

    def render_until_on(self, record: LeaveRow) -> SafeString:
        return day(record.until_on)

    def render_asked(self, record: LeaveRow) -> SafeString | str:
        if record.asked_on is None:
            return ""
        return format_html("{}<small>{}</small>", record.asked_by, day(record.asked_on))

    def render_answered(self, record: LeaveRow) -> SafeString | str:
        if record.answered_on is not None:
            words = format_html("<small>{}</small>", record.words) if record.words else ""
            on = format_html("<small>{}</small>", day(record.answered_on))
            return format_html("{}{}{}", record.answered_by, on, words)
        request = record.request
        if request is None or request.recorded_by_id == self.user.pk:
            return "another person"
        if self.user.may(permissions.APPROVE_DEFERRAL, record.site_id):
            return link("deferral_answer", request.pk, "Answer it")
        return "an engineer"
