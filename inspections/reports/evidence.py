"""What the record behind a date says, in the words an auditor asks for.

29 CFR 1910.119(j)(4)(iv) wants of each test its date, the person, the serial number or another
identifier, a description, and the result; 49 CFR 180.417(b) adds the pressures at which it opened
and reseated, and the disposition. What a record should hold and does not is said: not recorded.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fleet.models import ServiceEvent
from fleet.reports.reasons import activity_words
from inspections.actions.assess import POPPED
from inspections.actions.records import Record, records_of
from inspections.calc.verdicts import (
    HIGH,
    IN,
    LOW,
    UNDECIDED,
    deviation_percent,
    round_half_away,
)
from inspections.models import Inspection, Method, PopTest

NOT_RECORDED = "not recorded"
VERDICT_WORDS = {
    IN: "in tolerance",
    HIGH: "opened high",
    LOW: "opened low",
    UNDECIDED: "no lift, not tried to the end of the band",
    "": "not judged, no band in force",
}


@dataclass(frozen=True)
class Evidence:
    """The record behind one line; all empty where no event is counted."""

    inspection: int | None = None
    done_by: str = ""
    verified_by: str = ""
    description: str = ""
    result: str = ""
    opened_at: str = ""
    reseated_at: str = ""
    disposition: str = ""
    done_typed: str = ""


def evidence_of(events: Sequence[ServiceEvent]) -> dict[int, Evidence]:
    """The evidence of each event by its key, in five queries."""
    rows = Inspection.objects.filter(event__in=events).select_related(
        "done_by", "verified_by", "accepted_by"
    )
    by_event = {record.inspection.event_id: record for record in records_of(list(rows))}
    return {event.pk: _evidence(event, by_event.get(event.pk)) for event in events}


def _evidence(event: ServiceEvent, record: Record | None) -> Evidence:
    if record is None:
        missing = NOT_RECORDED
        return Evidence(
            done_by=missing,
            verified_by=missing,
            description=activity_words(event.activity),
            result=missing,
        )
    inspection = record.inspection
    return Evidence(
        inspection=inspection.pk,
        done_by=str(inspection.done_by or NOT_RECORDED),
        verified_by=_verified(inspection),
        description=_description(inspection),
        result=_result(record),
        opened_at=_opened(record),
        reseated_at=_reseated(record),
        disposition=inspection.get_disposition_display() or _expected(inspection),
        done_typed=inspection.done_typed,
    )


def _expected(inspection: Inspection) -> str:
    """A pop test has pressures and a disposition; of other work nobody asks them."""
    return NOT_RECORDED if inspection.activity in POPPED else ""


def _verified(inspection: Inspection) -> str:
    if inspection.verified_by:
        return str(inspection.verified_by)
    return f"accepted on load by {inspection.accepted_by}"


def _description(inspection: Inspection) -> str:
    said = [activity_words(inspection.activity)]
    if inspection.activity in POPPED:
        said.append(inspection.get_method_display() or "method not recorded")
        said.append(inspection.get_medium_display() or "medium not recorded")
    if inspection.done_typed:
        said.append(f"day typed as {inspection.done_typed}")
    return ", ".join(said)


def _result(record: Record) -> str:
    if record.inspection.activity not in POPPED and not record.pops:
        return "; ".join(_findings(record)) or "no finding recorded"
    return "; ".join([_as_received(record), _as_left(record)])


def _findings(record: Record) -> Iterable[str]:
    for finding in record.findings:
        done = f" ({finding.action})" if finding.action else ""
        figure = " ".join(filter(None, ["", finding.measure, finding.value]))
        yield f"{finding.part}: {finding.condition}{figure}{done}"


def _as_received(record: Record) -> str:
    first, inspection = record.first_pop(), record.inspection
    if first is not None:
        return f"as received {_verdict(first)}"
    if inspection.waived_reason:
        return f"as-received test waived: {inspection.waived_reason}"
    if inspection.method == Method.MAKER:
        return "new from the maker"
    return f"as received {NOT_RECORDED}"


def _as_left(record: Record) -> str:
    left = record.as_left_pop()
    return f"as left {_verdict(left) if left else NOT_RECORDED}"


def _verdict(pop: PopTest) -> str:
    odd = "" if pop.result in ("", PopTest.Result.OPENED) else pop.get_result_display()
    if pop.pressure is None:
        return odd or NOT_RECORDED
    words = VERDICT_WORDS[pop.verdict]
    if pop.reference is not None:
        exact = deviation_percent(pop.pressure, pop.reference)
        rounded = round_half_away(exact, 2)
        sign = "+" if rounded > 0 else ""
        words += f" ({'above ' if pop.bound else ''}{sign}{rounded} %)"
    return f"{words}, {odd}" if odd and not pop.bound else words


def _opened(record: Record) -> str:
    """The first pop as typed; of a device new from its maker, what it was left at."""
    first, left = record.first_pop(), record.as_left_pop()
    if first is not None and first.pressure is not None:
        return f"no lift at {first.pressure}" if first.bound else str(first.pressure)
    if record.inspection.method == Method.MAKER and left is not None and left.pressure:
        return f"{left.pressure} as left"
    if record.inspection.waived_reason:
        return "waived"
    return _expected(record.inspection)


def _reseated(record: Record) -> str:
    """Of the last pop that has one: the as-left pops come last."""
    popped = [pop for pop in record.pops if not pop.is_vacuum]
    pops = sorted(popped, key=lambda pop: (pop.stage == "as_left", pop.order))
    reseats = [pop.reseat for pop in pops if pop.reseat is not None]
    return str(reseats[-1]) if reseats else _expected(record.inspection)
