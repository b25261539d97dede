"""The columns of a plan's lines."""

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from fleet.listing import Loaded
from fleet.models import PlannedJob
from fleet.reports.plans import SORTS, PlanJobs
from fleet.reports.reasons import activity_words, with_day_words
from fleet.tables.cells import cells, day, days_words, link, tag
from fleet.tables.outages import hours_words
from fleet.templatetags.drawings import state

Status = PlannedJob.Status


class PlanTable(tables.Table):
    """What a plan says of each line: where it goes, when, why, and what that gives up."""

    tag = tables.Column(verbose_name="Position", attrs=cells("key"), empty_values=())
    activity = tables.Column(verbose_name="Owes")
    due_on = tables.Column(verbose_name="Due", attrs=cells("n"), empty_values=())
    status = tables.Column(
        verbose_name="Goes", attrs=cells("say"), orderable=False, empty_values=()
    )
    planned_on = tables.Column(verbose_name="On", attrs=cells("n"), empty_values=())
    days_given_up = tables.Column(verbose_name="Gives up", attrs=cells("n"), empty_values=())
    hours = tables.Column(verbose_name="Bench hours", attrs=cells("n"), empty_values=())

    class Meta:
        attrs = {"class": "tall"}
        empty_text = "No line of this plan is like that."

    def __init__(self, jobs: PlanJobs, *, is_in_force: bool) -> None:
        super().__init__(Loaded(jobs, SORTS, "due_on"), order_by="due_on")
        self.plan, self.is_in_force = jobs.plan, is_in_force

    def render_tag(self, record: PlannedJob) -> SafeString:
        device = record.device.number if record.device else ""
        return tag("position", record.position_id, record.position.tag, record.unit.name, device)

    def render_activity(self, record: PlannedJob) -> SafeString | str:
        words = activity_words(record.activity)
        if record.covered_by:
            done_by = f"done by the {activity_words(record.covered_by)}"
            return format_html("{}<small>{}</small>", words, done_by)
        return words

    def render_due_on(self, record: PlannedJob) -> SafeString | str:
        if record.due_on is None:
            return "no record"
        leave = record.deferred_until
        beneath = format_html("<small>leave until {}</small>", day(leave)) if leave else ""
        return format_html("{}{}", day(record.due_on), beneath)

    def render_status(self, record: PlannedJob) -> SafeString:
        if self.is_in_force and record.done_on:
            return format_html("{}<small>{}</small>", state("done"), day(record.done_on))
        words = link("plan_job", record.pk, "Why, and what else")
        where = record.outage.name if record.outage else ""
        said = state(record.status, where, with_day_words(record.reason))
        return format_html("{}<small>{}</small>", said, words)

    def render_planned_on(self, record: PlannedJob) -> SafeString | str:
        return day(record.planned_on) if record.planned_on else ""

    def render_days_given_up(self, record: PlannedJob) -> str:
        if record.days_late:
            return f"{days_words(record.days_late)} late"
        return "" if record.days_given_up is None else days_words(record.days_given_up)

    def render_hours(self, record: PlannedJob) -> str:
        return "" if record.covered_by else hours_words(record.hours)
