"""Why a line of the due list says what it says, in one sentence. Days are ISO 8601."""

import re
from dataclasses import dataclass
from datetime import date

from fleet.calc.intervals import ACT_BY, AGE, DECISION, TRIGGER, WINDOW, Due
from fleet.calc.units import parse_duration
from fleet.drawings.axis import day_words
from fleet.models import (
    CountsFrom,
    Deferral,
    Installation,
    ObligationSpan,
    PositionStatus,
    SpanState,
)

ACTIVITY_WORDS = {
    "visual": "visual inspection",
    "lever": "lever lift",
    "in_place_test": "in-place test",
    "bench_test": "bench test",
    "overhaul": "overhaul",
    "disc_change": "disc change",
    "capacity_review": "capacity review",
    "replacement": "replacement",
}


ISO_DAY = re.compile(r"\b(\d{4}-\d{2}-\d{2})\b")


def with_day_words(sentence: str) -> str:
    """The sentence for a page, where days are written `14 Oct 2026`."""

    def words(match: re.Match) -> str:
        try:
            return day_words(date.fromisoformat(match[0]))
        except ValueError:
            return match[0]

    return ISO_DAY.sub(words, sentence)


def activity_words(activity: str) -> str:
    return ACTIVITY_WORDS.get(activity, activity.replace("_", " "))


@dataclass(frozen=True)
class Place:
    """What stands or stood at a position that day: the last spell, its status since when, and how
    it was laid up."""

    spell: Installation | None = None
    status: str = ""
    since: date | None = None
    how: str = ""


def reason_of(
    state: str,
    span: ObligationSpan | None,
    place: Place,
    deferral: Deferral | None = None,
    status: str = "",
) -> str:
    """The reason for a state, or for a date; a deferral of that date is said with it."""
    if state == SpanState.DATED and span is not None:
        return dated(span) + (f"; {deferred(deferral, status)}" if deferral else "")
    return {
        SpanState.NOT_REQUIRED: _not_required,
        SpanState.NO_DEVICE: _no_device,
        SpanState.NO_OBLIGATION: _no_obligation,
        SpanState.NO_RECORD: _no_record,
        SpanState.INTERVAL_NOT_SET: _interval_not_set,
        SpanState.WAITING: _waiting,
    }[SpanState(state)](span, place)


def dated(span: ObligationSpan) -> str:
    """The rule's own words; under a decision, those of the rule with its interval, and whose."""
    rule, decision = span.obligation.rule, span.decision
    shape, source = rule.shape, rule.citation
    if decision is not None:
        shape = shape.with_interval(parse_duration(decision.interval))
        if span.limit in (DECISION, ACT_BY):  # else another limit of the rule binds
            source = (
                f"interval decided by {decision.decided_by} from {decision.from_on}:"
                f" {decision.reason.rstrip('. ')}"
            )
    sentence = shape.reason(Due(span.due_on, span.target_on, span.limit), span.last_on, source)
    return "; ".join([sentence, *_counted_from(span)])


def _counted_from(span: ObligationSpan) -> list[str]:
    """Where the day it counts from is not the day it was done."""
    if span.event is None:
        was_never_done = span.obligation.counts_from == CountsFrom.COMMISSIONED_ON
        is_first = was_never_done and span.limit not in (AGE, TRIGGER)
        return ["never done, counted from commissioning"] if is_first else []
    if span.event.done_on == span.last_on or span.limit == WINDOW:
        return []
    return [f"done {span.event.done_on}, counted from the day it entered service"]


def deferred(deferral: Deferral, status: str) -> str:
    """Past its date it says so: a deferral never makes a line look as good as one in time."""
    approved = f"approved by {deferral.approved_by} on {deferral.approved_on}"
    if status == "overdue":
        return (
            f"the deferral to {deferral.until_on} ({deferral.get_policy_display()}), {approved},"
            " has expired"
        )
    words = f"deferred to {deferral.until_on} ({deferral.get_policy_display()}), {approved}"
    return f"past original date, {words}" if status == "overdue_deferred" else words


def _not_required(span: ObligationSpan | None, place: Place) -> str:
    words = PositionStatus(place.status).label if place.status else "not in service"
    how = f": {place.how}" if place.how else ""
    return f"position {words}{f' since {place.since}' if place.since else ''}{how}"


def _no_device(span: ObligationSpan | None, place: Place) -> str:
    spell = place.spell
    if spell is None or spell.removed_on is None:
        return "no device was ever fitted"
    return f"{spell.device} removed {spell.removed_on}, nothing fitted since"


def _no_obligation(span: ObligationSpan | None, place: Place) -> str:
    return "nothing is listed as owed at this position"


def _no_record(span: ObligationSpan | None, place: Place) -> str:
    if span is None or place.spell is None:
        return "no counted record"
    done = activity_words(span.obligation.activity)
    fitted = f"{place.spell.device} fitted {place.spell.installed_on}"
    limit = span.obligation.shelf_limit
    if span.last_on and limit:
        return (
            f"{fitted}, more than {parse_duration(limit).words} after its {done} "
            f"on {span.last_on}: to be tested again"
        )
    return f"{fitted}, no counted {done} on record for it"


def _interval_not_set(span: ObligationSpan | None, place: Place) -> str:
    return span.obligation.rule.shape.undated() if span else "the rule gives no date"


def _waiting(span: ObligationSpan | None, place: Place) -> str:
    if span is None:
        return "nothing has called for it"
    words = f"{span.obligation.rule.shape.words()}: nothing calls for it now"
    return f"{words}, last done {span.last_on}" if span.last_on else words
