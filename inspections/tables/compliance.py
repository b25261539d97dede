"""The compliance list as a list: what was owed, in which state, and the evidence for it."""

from collections.abc import Iterator

import django_tables2 as tables
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from fleet.drawings.axis import day_words
from fleet.drawings.states import state_of
from fleet.drawings.words import true_minus
from fleet.listing import Loaded
from fleet.reports.reasons import activity_words, with_day_words
from fleet.tables.cells import cells, day, link, proposed, tag
from fleet.templatetags.drawings import state
from inspections.reports.compliance import ComplianceList, ComplianceRow

SORTS = ("tag", "activity", "due_on")


class ComplianceTable(tables.Table):
    tag = tables.Column(verbose_name="Position", attrs=cells("key"))
    activity = tables.Column(verbose_name="Owes", attrs=cells("owes"), empty_values=())
    status = tables.Column(verbose_name="State", attrs=cells("say"), orderable=False)
    due_on = tables.Column(verbose_name="Due", attrs=cells("n"), default="")
    done = tables.Column(
        verbose_name="Last done", attrs=cells("last"), empty_values=(), orderable=False
    )
    evidence = tables.Column(
        verbose_name="Evidence", attrs=cells("evidence"), empty_values=(), orderable=False
    )

    class Meta:
        attrs = {"class": "tall"}
        empty_text = "Nothing matches what is asked."

    def __init__(self, listing: ComplianceList) -> None:
        super().__init__(Loaded(listing, SORTS, "due_on"))
        self.listing = listing
        self.has_sites = listing.user is None or len(listing.user.site_ids()) > 1

    def render_tag(self, record: ComplianceRow) -> SafeString:
        site = record.site if self.has_sites else ""
        on = f"on {record.equipment}" if record.equipment else ""
        place = tag("position", record.line.position, record.tag, site, record.unit, on)
        return format_html("{}{}{}", place, _fitted(record), _set(record))

    def render_activity(self, record: ComplianceRow) -> SafeString | str:
        if not record.activity:
            return ""
        return format_html(
            "{}<small>{}</small><small>{}</small>",
            activity_words(record.activity).capitalize(),
            record.rule,
            record.source,
        )

    def render_status(self, record: ComplianceRow) -> SafeString:
        return format_html(
            "{}{}{}",
            state(record.status, _status_words(record)),
            format_html_join("", "<small>{}</small>", ((said,) for said in _because(record))),
            proposed(record.proposal),
        )

    def render_due_on(self, record: ComplianceRow) -> SafeString | str:
        return day(record.due_on) if record.due_on else ""

    def render_done(self, record: ComplianceRow) -> SafeString | str:
        if record.last_done_on is None:
            return ""
        return format_html(
            "{}{}", day(record.last_done_on), format_html_join("", "<small>{}</small>", _by(record))
        )

    def render_evidence(self, record: ComplianceRow) -> SafeString:
        said = [true_minus(record.result), _pressures(record), record.disposition]
        beneath = ((words,) for words in said if words)
        return format_html(
            "{}{}",
            with_day_words(record.description).capitalize(),
            format_html_join("", "<small>{}</small>", beneath),
        )


def _fitted(row: ComplianceRow) -> SafeString | str:
    if not row.device:
        return ""
    serial = f"serial {row.serial}" if row.serial else "serial not recorded"
    device = link("device", row.line.device, row.device)
    return format_html(
        '<small><span class="nowrap">{}</span>, <span class="nowrap">{}</span></small>',
        device,
        serial,
    )


def _set(row: ComplianceRow) -> SafeString:
    return format_html("<small>set {}</small>", row.set_pressure or "not recorded")


def _status_words(row: ComplianceRow) -> str:
    if row.status == "overdue_deferred" and row.deferred_until:
        return f"past its date, deferred to {day_words(row.deferred_until)}"
    return state_of(row.status).words


def _because(row: ComplianceRow) -> Iterator[str]:
    """The interval with its basis; the deferral with policy and approver; what is still open."""
    if row.interval:
        yield row.interval
    if row.interval_basis not in ("", "the rule"):
        yield with_day_words(row.interval_basis)
    if row.deferred_until:
        policy = row.deferral_policy.replace("_", " ")
        until = day_words(row.deferred_until)
        yield f"deferral to {until}: {policy}, approved by {row.deferral_approved_by}"
    if row.open_questions:
        yield f"{row.open_questions} open question{'' if row.open_questions == 1 else 's'}"


def _by(row: ComplianceRow) -> Iterator[tuple[SafeString | str]]:
    if not row.ref:
        return
    yield (link("inspection", row.inspection, row.ref) if row.inspection else row.ref,)
    yield (f"by {row.done_by}",)
    accepted = row.verified_by.startswith("accepted")
    yield (row.verified_by if accepted else f"verified by {row.verified_by}",)
    if row.late_entry == "yes" and row.recorded_on:
        yield (f"late entry, written down {day_words(row.recorded_on)}",)


def _pressures(row: ComplianceRow) -> str:
    """Where it opened and where it reseated, beside the set pressure: 49 CFR 180.417(b)."""
    said = [
        f"opened at {row.opened_at}" if row.opened_at else "",
        f"reseated at {row.reseated_at}" if row.reseated_at else "",
    ]
    return ", ".join(filter(None, said))
