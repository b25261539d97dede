"""The columns of the sampled groups, and of the members of one."""

import django_tables2 as tables
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from fleet.calc.intervals import EXPANSION
from fleet.listing import InHand, Loaded
from fleet.reports.group_rows import MemberRow
from fleet.reports.groups import GroupRow, Summary
from fleet.reports.reasons import activity_words, with_day_words
from fleet.tables.cells import cells, day, link, proposed, tag
from fleet.tables.due import status_words
from fleet.templatetags.drawings import state

NAMED = 3  # of those due on one day; the rest are counted
GROUP_KEYS = {
    "group": lambda row: (row.group, row.pk),
    "next": lambda row: row.summary.next_on,
    "tested": lambda row: row.summary.tested - row.summary.needed,
    "late": lambda row: -row.summary.late,
}
MEMBER_KEYS = {
    "order": lambda row: row.order,
    "tag": lambda row: row.due.tag,
    "last_on": lambda row: row.due.counted_from,
    "due_on": lambda row: row.due.due_on,
}


def held_words(said: Summary) -> str:
    """`3 tested`, `2 tested, 1 begun`; what has begun in the window is no test, but is held."""
    return f"{said.tested} tested" + (f", {said.begun} begun" if said.begun else "")


class GroupTable(tables.Table):
    group = tables.Column(verbose_name="Group", attrs=cells("key"), empty_values=())
    rule = tables.Column(
        verbose_name="Rule", attrs=cells("evidence"), orderable=False, empty_values=()
    )
    members = tables.Column(
        verbose_name="Members", accessor="summary__members", orderable=False, attrs=cells("n")
    )
    tested = tables.Column(
        verbose_name="The window to this day", attrs=cells("say"), empty_values=()
    )
    next = tables.Column(verbose_name="Next owed", attrs=cells("last"), empty_values=())
    called = tables.Column(
        verbose_name="Called in", orderable=False, attrs=cells("last"), empty_values=()
    )
    late = tables.Column(verbose_name="Late", attrs=cells("n"), empty_values=())

    class Meta:
        attrs = {"class": "tall"}
        empty_text = "No position of yours is sampled in a group."

    def __init__(self, rows: InHand, *, has_sites: bool) -> None:
        super().__init__(Loaded(rows, GROUP_KEYS, "group"))
        self.has_sites = has_sites

    def render_group(self, record: GroupRow) -> SafeString:
        site = record.site if self.has_sites else ""
        return tag("group", record.pk, record.group, site, activity_words(record.activity))

    def render_rule(self, record: GroupRow) -> SafeString:
        rule = record.rule
        words = rule.shape.words()
        return format_html(
            "{}<small>{}. {}</small>", rule.code, words[0].upper() + words[1:], rule.citation
        )

    def render_members(self, record: GroupRow) -> SafeString | str:
        said = record.summary
        idle = format_html("<small>{} not in service</small>", said.idle) if said.idle else ""
        return format_html("{}{}", said.members, idle)

    def render_tested(self, record: GroupRow) -> SafeString:
        said = record.summary
        words = f"{held_words(said)} of {said.needed} needed"
        return state("overdue" if said.short else "compliant", words)

    def render_next(self, record: GroupRow) -> SafeString | str:
        said = record.summary
        undated = f"{said.undated} without a date" if said.undated else ""
        if said.next_on is None:
            return undated or "nobody"
        return format_html("{}<small>{}</small><small>{}</small>",
                           day(said.next_on), who(said), undated)  # fmt: skip

    def render_called(self, record: GroupRow) -> SafeString | str:
        said = record.summary
        if not said.called:
            return ""
        words = "after a second failure" if said.is_whole else "after a failure"
        return state("due_soon", f"{said.called}", words)

    def render_late(self, record: GroupRow) -> SafeString | str:
        late = record.summary.late
        return state("overdue", f"{late}") if late else ""


def who(said: Summary) -> SafeString:
    """The tags of those owed next, linked."""
    named = format_html_join(
        ", ", "{}", ((link("position", s.position, s.tag),) for s in said.following[:NAMED])
    )
    more = len(said.following) - NAMED
    return format_html("{}{}", named, f" and {more} more" if more > 0 else "")


class MemberTable(tables.Table):
    order = tables.Column(verbose_name="Turn", attrs=cells("n wide"), empty_values=())
    tag = tables.Column(verbose_name="Position", attrs=cells("key"), empty_values=())
    last_on = tables.Column(verbose_name="Last tested", attrs=cells("last"), empty_values=())
    window = tables.Column(
        verbose_name="In the window", orderable=False, attrs=cells("nowrap"), empty_values=()
    )
    state = tables.Column(
        verbose_name="State", orderable=False, attrs=cells("say"), empty_values=()
    )
    own = tables.Column(
        verbose_name="Own limit", orderable=False, attrs=cells("n"), empty_values=()
    )
    due_on = tables.Column(verbose_name="Due", attrs=cells("n"), empty_values=())

    class Meta:
        attrs = {"class": "tall"}

    def __init__(self, rows: InHand) -> None:
        super().__init__(Loaded(rows, MEMBER_KEYS, "order"), order_by="order")

    def render_order(self, record: MemberRow) -> str:
        return "" if record.order is None else str(record.order)

    def render_tag(self, record: MemberRow) -> SafeString:
        row = record.due
        return tag("position", row.line.position, row.tag, row.unit, row.device)

    def render_last_on(self, record: MemberRow) -> SafeString | str:
        row = record.due
        if row.last_done_on:
            return format_html("{}<small>{}</small>", day(row.last_done_on), record.as_found)
        if row.counted_from:
            return format_html("never<small>counts from {}</small>", day(row.counted_from))
        return "never"

    def render_window(self, record: MemberRow) -> SafeString | str:
        if record.order is None:
            return "not counted"
        if not record.in_window:
            return "no"
        return state(
            "done" if record.is_done else "planned", "tested" if record.is_done else "begun"
        )

    def render_state(self, record: MemberRow) -> SafeString:
        row = record.due
        said = state(row.status, status_words(row), with_day_words(row.reason))
        return format_html("{}{}{}", said, _called(record), proposed(row.proposal))

    def render_own(self, record: MemberRow) -> SafeString | str:
        return day(record.own_due_on) if record.own_due_on else ""

    def render_due_on(self, record: MemberRow) -> SafeString | str:
        if record.due.due_on is None:
            return ""
        return format_html("{}<small>{}</small>", day(record.due.due_on), record.binds)


def _called(record: MemberRow) -> SafeString | str:
    """Where the call is not what binds, it still waits for a test."""
    called = record.called
    if called is None or called.limit == record.limit:
        return ""
    words = "a failure" if called.limit == EXPANSION else "a second failure"
    return format_html('<small class="soon">Also called in by {} on {}</small>', words,
                       day(called.on))  # fmt: skip
