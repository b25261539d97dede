"""The compliance list on paper: every line with its rule, its evidence and what is missing."""

from collections.abc import Iterator

from fleet.drawings.axis import day_words
from fleet.drawings.states import state_of
from fleet.models import AuditHead, Site, Unit
from fleet.papers.listing import Cell, Column, Heading, Words, listing_pdf
from fleet.reports.due_ask import STATUSES, Ask
from fleet.reports.reasons import activity_words, with_day_words
from inspections.reports.compliance import ComplianceList, ComplianceRow

KNOWN_BEFORE = (
    "The list is seen as it was known before the day it is about:"
    " nothing done in between can stand in it."
)
SHAPES = {
    "overdue": "▲",
    "overdue_deferred": "△",
    "no_record": "✕",
    "no_device": "–",
    "no_obligation": "□",
    "interval_not_set": "□",
    "due_soon": "◇",
    "compliant": "○",
    "not_required": "–",
}
COLUMNS = (
    Column("Position", 92),
    Column("Device", 84),
    Column("Owes, under which rule", 124),
    Column("Interval and its basis", 110),
    Column("State on the day", 98),
    Column("Last done, and by whom", 106),
    Column("Evidence", 168),
)


def pdf(listing: ComplianceList, sort: str = "due_on") -> bytes:
    """The list in the order of the page, all lines that are asked for."""
    rows = (_cells(row) for row in listing.every_row(sort))
    return listing_pdf(_heading(listing), COLUMNS, rows)


def _heading(listing: ComplianceList) -> Heading:
    counts = listing.counts()
    day = day_words(listing.as_of)
    known = (
        f"as it was known at the end of {day_words(listing.known_on)}"
        if (listing.known_on)
        else "as it is known now"
    )
    return Heading(
        f"Compliance list as of {day}",
        [
            f"{', '.join(_sites(listing))}: {listing.count()} lines, {known}.",
            *_asked(listing.ask),
            *([KNOWN_BEFORE] if listing.is_known_before else []),
            _chain(),
        ],
        f"Compliance list as of {day}, {known}",
        [
            (str(counts[status]), state_of(status).words)
            for status in STATUSES
            if counts.get(status)
        ],
    )


def _sites(listing: ComplianceList) -> list[str]:
    sites = Site.objects.all() if listing.user is None else Site.objects.visible_to(listing.user)
    if listing.ask.site:
        sites = sites.filter(pk=listing.ask.site)
    return list(sites.order_by("name").values_list("name", flat=True)) or ["No site"]


def _asked(ask: Ask) -> list[str]:
    """What narrowed the list, so that a part is never taken for the whole."""
    unit = Unit.objects.filter(pk=ask.unit).first() if ask.unit else None
    said = [
        f"unit {unit}" if unit else "",
        f"state {state_of(ask.status).words}" if ask.status else "",
        activity_words(ask.activity) if ask.activity else "",
        f"“{ask.find}” in tag, device or serial" if ask.find else "",
    ]
    words = ", ".join(filter(None, said))
    return [f"Only: {words}. The figures below count every state."] if words else []


def _chain() -> str:
    head = AuditHead.objects.first()
    if head is None or not head.number:
        return "No change is on the audit chain yet."
    return f"The audit chain stands at entry {head.number}, {head.digest}."


def _cells(row: ComplianceRow) -> list[Cell]:
    return [list(cell(row)) for cell in (_place, _device, _owes, _interval, _state, _done, _said)]


def _place(row: ComplianceRow) -> Iterator[Words]:
    yield Words(row.tag, is_bold=True)
    yield Words(f"{row.site}, {row.unit}", "soft")
    yield Words(f"on {row.equipment}" if row.equipment else "", "soft")
    yield Words(f"set {row.set_pressure}" if row.set_pressure else "set pressure not recorded")


def _device(row: ComplianceRow) -> Iterator[Words]:
    if not row.device:
        yield Words("no device fitted", "soon")
        return
    yield Words(row.device, is_bold=True)
    yield Words(f"serial {row.serial}" if row.serial else "serial not recorded")
    yield Words(row.kind.replace("_", " "), "soft")


def _owes(row: ComplianceRow) -> Iterator[Words]:
    if not row.activity:
        yield Words("nothing listed", "soon")
        return
    yield Words(activity_words(row.activity), is_bold=True)
    yield Words(row.rule)
    yield Words(row.source, "soft")


def _interval(row: ComplianceRow) -> Iterator[Words]:
    yield Words(row.interval)
    yield Words(with_day_words(row.interval_basis), "soft")


def _state(row: ComplianceRow) -> Iterator[Words]:
    state = state_of(row.status)
    yield Words(f"{SHAPES.get(row.status, '–')} {state.words}", state.tone, is_bold=True)
    if row.due_on:
        yield Words(f"due {day_words(row.due_on)}")
    if row.deferred_until:
        policy = row.deferral_policy.replace("_", " ")
        yield Words(f"deferred to {day_words(row.deferred_until)}, {policy}")
        yield Words(f"approved by {row.deferral_approved_by}", "soft")
    if row.open_questions:
        plural = "" if row.open_questions == 1 else "s"
        yield Words(f"{row.open_questions} open question{plural}", "soon")
    if row.proposal:
        yield Words(f"proposal: {row.proposal}", "soon")


def _done(row: ComplianceRow) -> Iterator[Words]:
    if row.last_done_on is None:
        return
    yield Words(day_words(row.last_done_on), is_bold=True)
    if not row.ref:
        return
    yield Words(f"record {row.ref}")
    yield Words(f"done by {row.done_by}")
    yield Words(f"verified by {row.verified_by}".replace("verified by accepted", "accepted"))
    if row.late_entry == "yes" and row.recorded_on:
        yield Words(f"late entry, written down {day_words(row.recorded_on)}", "soon")


def _said(row: ComplianceRow) -> Iterator[Words]:
    yield Words(with_day_words(row.description))
    yield Words(row.result)
    if row.opened_at:
        yield Words(f"opened at {row.opened_at}")
    if row.reseated_at:
        yield Words(f"reseated at {row.reseated_at}")
    if row.disposition:
        yield Words(f"disposition: {row.disposition}")
