"""Proposals as a list: what happened where, since when it waits, and what is owed meanwhile."""

import django_tables2 as tables
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from fleet.drawings.axis import day_words
from fleet.drawings.words import true_minus
from fleet.listing import Loaded
from fleet.models import Proposal
from fleet.reports.due import DueRow
from fleet.reports.reasons import activity_words, with_day_words
from fleet.tables.cells import cells, day, days_words, link, tag
from fleet.tables.due import status_words
from fleet.templatetags.drawings import state
from inspections.reports.proposals import ProposalList, ProposalRow

SORTS = ("raised_on",)


class ProposalTable(tables.Table):
    tag = tables.Column(
        verbose_name="Position", attrs=cells("key"), empty_values=(), orderable=False
    )
    reason = tables.Column(
        verbose_name="What happened", attrs=cells("say"), empty_values=(), orderable=False
    )
    raised_on = tables.Column(verbose_name="Since", attrs=cells("last"), empty_values=())
    owed = tables.Column(
        verbose_name="Its interval now", attrs=cells("evidence"), empty_values=(), orderable=False
    )
    answer = tables.Column(
        verbose_name="Answer", attrs=cells("last"), empty_values=(), orderable=False
    )

    class Meta:
        attrs = {"class": "tall"}
        empty_text = "No proposal waits for an answer."

    def __init__(self, listing: ProposalList, *, has_sites: bool) -> None:
        super().__init__(Loaded(listing, SORTS, "raised_on"))
        self.has_sites = has_sites
        if listing.ask.answered:
            self.empty_text = "None was answered yet."

    def render_tag(self, record: ProposalRow) -> SafeString:
        place = record.proposal.position
        site = place.site.name if self.has_sites else ""
        return tag("position", place.pk, place.tag, site, place.unit.name)

    def render_reason(self, record: ProposalRow) -> SafeString:
        row = record.proposal
        return format_html(
            "<b>{}</b><small>{}</small><small>{}</small>",
            row.get_kind_display().capitalize(),
            reason_of(row),
            source_of(record),
        )

    def render_raised_on(self, record: ProposalRow) -> SafeString:
        return format_html("{}<small>{}</small>", day(record.proposal.raised_on), age_of(record))

    def render_owed(self, record: ProposalRow) -> SafeString:
        return format_html_join("", "{}<small>{}</small>", (_owed(row) for row in record.owed))

    def render_answer(self, record: ProposalRow) -> SafeString:
        row = record.proposal
        if row.answered_on is None:
            return link("proposal", row.pk, "Look at it")
        return format_html(
            "{}<small>{}, {}</small><small>{}</small>",
            link("proposal", row.pk, row.get_answer_display().capitalize()),
            row.answered_by,
            day_words(row.answered_on),
            row.answer_words,
        )


def reason_of(proposal: Proposal) -> str:
    """`Opened at 143 psig, −4.67 %`: the sentence as a page says it."""
    said = true_minus(with_day_words(proposal.reason))
    return said[:1].upper() + said[1:]


def source_of(record: ProposalRow) -> SafeString:
    """`Record I-7`, a link where it is one; else what changed."""
    source = record.proposal.source
    if record.record is None:
        return format_html("{}", with_day_words(source))
    return format_html("record {}", link("inspection", record.record, source))


def age_of(record: ProposalRow) -> str:
    days, is_open = record.days_open, record.proposal.answered_on is None
    if days < 0:
        return f"begins in {days_words(days)}"
    return f"open {days_words(days)}" if is_open else f"was open {days_words(days)}"


def _owed(row: DueRow) -> tuple[SafeString, str]:
    words = activity_words(row.activity).capitalize() if row.activity else "Nothing listed"
    due = f", due {day_words(row.due_on)}" if row.due_on else ""
    said = state(row.status, f"{words}{due}: {status_words(row)}")
    return said, with_day_words(row.reason)
