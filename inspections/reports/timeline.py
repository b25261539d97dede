"""Everything that happened at a position, or to a device, as one list of entries by day."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from fleet import clock
from fleet.calc.units import parse_duration
from fleet.models import (
    Deferral,
    DeferralRequest,
    Installation,
    IntervalDecision,
    PositionDuty,
    Proposal,
)
from fleet.reports.reasons import activity_words
from inspections.actions.assess import why_not_counted
from inspections.actions.records import records_of
from inspections.models import Inspection, Question

GOOD, LATE, WARN, PLAIN = "good", "late", "warn", ""


@dataclass(frozen=True)
class Entry:
    """One thing that happened. `on`: its day; None = since always. link: (url name, pk)."""

    on: date | None
    words: str
    beneath: str = ""
    tone: str = PLAIN
    link: tuple[str, int] | None = None
    linked: str = ""


def latest_first(entries: Iterable[Entry]) -> list[Entry]:
    """Latest day first; what has held since always comes last."""
    return sorted(entries, key=lambda entry: entry.on or date.min, reverse=True)


def of_duties(duties: Sequence[PositionDuty]) -> Iterator[Entry]:
    """What changed from one duty to the next; the first says what it began with."""
    before = None
    for duty in reversed(duties):
        changes = _changes(before, duty)
        words = "Duty changed" if before else "Duty"
        beneath = "; ".join(changes)
        if duty.moc:
            beneath = f"{beneath} ({duty.moc})"
        yield Entry(duty.from_on, words, beneath)
        before = duty


DUTY_WORDS = {
    "tag": "tag",
    "unit": "unit",
    "status": "status",
    "duty_role": "role",
    "set_pressure": "set pressure",
    "vacuum_set": "vacuum set",
    "cold_test_pressure": "cold test pressure",
    "back_pressure": "back pressure",
    "back_pressure_kind": "back pressure kind",
    "temperature_multiplier": "temperature multiplier",
    "fluid": "fluid",
    "phase": "phase",
    "severity": "severity",
    "discharge": "discharge",
    "isolation": "isolation",
    "tolerance": "tolerance",
    "required_capacity": "required capacity",
}


def _changes(before: PositionDuty | None, after: PositionDuty) -> list[str]:
    if before is None:
        names = ("set_pressure", "fluid", "tolerance")
        return [f"{DUTY_WORDS[n]} {v}" for n in names if (v := _said(after, n)) != "not given"]
    return [
        f"{words} {_said(before, name)} to {_said(after, name)}"
        for name, words in DUTY_WORDS.items()
        if _said(before, name) != _said(after, name)
    ]


def _said(duty: PositionDuty, name: str) -> str:
    display = getattr(duty, f"get_{name}_display", None)
    value = display() if display else getattr(duty, name)
    return "not given" if value in (None, "") else str(value)


def of_spells(spells: Sequence[Installation]) -> Iterator[Entry]:
    for spell in spells:
        device = ("device", spell.device_id)
        if spell.voided_at:
            yield Entry(
                spell.installed_on, "Fitted", taken_back(spell), LATE, device, str(spell.device)
            )
            continue
        by = f"by {spell.fitted_by}" if spell.fitted_by else ""
        reason = f"fitted although it did not match: {spell.override_reason}"
        reason += f" (written down by {spell.recorded_by})"
        beneath = "; ".join(filter(None, [by, reason if spell.override_reason else ""]))
        tone = WARN if spell.override_reason else PLAIN
        yield Entry(spell.installed_on, "Fitted", beneath, tone, device, str(spell.device))
        if spell.removed_on:
            yield Entry(spell.removed_on, "Taken out", "", PLAIN, device, str(spell.device))


def taken_back(spell: Installation) -> str:
    """`taken back by Eve on 2026-10-31: it was another device`, for one that was voided."""
    on = clock.day_of(spell.voided_at) if spell.voided_at else None
    until = f"until {spell.removed_on}; " if spell.removed_on else ""
    return f"{until}taken back by {spell.voided_by} on {on}: {spell.void_reason}"


def of_records(records: Sequence[Inspection], *, of_one_device: bool = False) -> Iterator[Entry]:
    """Each names its device or, where all are of one, the position it came from."""
    why = _why_not(records)
    for record in records:
        words = activity_words(record.activity).capitalize()
        beneath = [f"{record.device}"]
        if of_one_device:
            beneath = [f"from {record.position}"] if record.position else []
        if record.done_by:
            beneath.append(f"done by {record.done_by}")
        if record.tag_typed and record.position and record.tag_typed != record.position.tag:
            beneath.append(f"the sheet says {record.tag_typed}")
        if record.locked_at is None:
            tone, said = WARN, "open, counts for nothing yet"
        elif not record.is_counted:
            tone, said = LATE, ": ".join(filter(None, ["does not count", why[record.pk]]))
        else:
            tone, said = GOOD, ""
        text = ", ".join([*beneath, *([said] if said else [])])
        on = record.done_on or record.recorded_at.date()
        yield Entry(on, words, text, tone, ("inspection", record.pk), record.ref)


def _why_not(records: Sequence[Inspection]) -> dict[int, str]:
    """Of records that are locked and count for nothing: why, by record."""
    uncounted = [row for row in records if row.locked_at and not row.is_counted]
    return {r.inspection.pk: why_not_counted(r) for r in records_of(uncounted)} if uncounted else {}


def of_decisions(decisions: Sequence[IntervalDecision]) -> Iterator[Entry]:
    for row in decisions:
        what = activity_words(row.obligation.activity)
        words = f"Interval of the {what} set to {parse_duration(row.interval).words}"
        act_by = f"; act by {row.act_by}" if row.act_by else ""
        yield Entry(row.from_on, words, f"{row.reason}, decided by {row.decided_by}{act_by}", WARN)


def of_deferrals(deferrals: Sequence[Deferral]) -> Iterator[Entry]:
    for row in deferrals:
        what = activity_words(row.obligation.activity)
        words = f"{what.capitalize()} due {row.due_on} deferred to {row.until_on}"
        beneath = f"{row.get_policy_display()}, approved by {row.approved_by}: {row.reason}"
        yield Entry(row.approved_on, words, beneath, WARN)


def of_requests(requests: Sequence[DeferralRequest]) -> Iterator[Entry]:
    """Leave asked for and refused, or still waiting; what was given is its deferral."""
    for row in requests:
        what = activity_words(row.obligation.activity)
        words = f"Leave asked for: {what} due {row.due_on}, until {row.until_on}"
        asked = f"{row.get_policy_display()}, asked by {row.recorded_by}: {row.reason}"
        yield Entry(row.requested_on, words, asked, WARN)
        if row.answered_at:
            on = clock.day_of(row.answered_at)
            yield Entry(on, "Leave refused", f"{row.answer_words} ({row.answered_by})", WARN)


def of_proposals(proposals: Sequence[Proposal]) -> Iterator[Entry]:
    for row in proposals:
        link, linked = ("proposal", row.pk), row.source
        kind = row.get_kind_display()
        yield Entry(row.raised_on, f"Proposal: {kind}", row.reason, WARN, link, linked)
        if row.answered_on:
            by = f"{row.answer_words} ({row.answered_by})"
            words = f"Proposal {row.get_answer_display()}: {kind}"
            yield Entry(row.answered_on, words, by, GOOD, link, linked)


def of_questions(questions: Sequence[Question]) -> Iterator[Entry]:
    for row in questions:
        link = ("inspection", row.inspection_id) if row.inspection_id else None
        linked = row.inspection.ref if row.inspection else ""
        yield Entry(row.recorded_at.date(), "Question", row.text, WARN, link, linked)
        if row.answered_at:
            by = f"{row.answer} ({row.answered_by})"
            yield Entry(row.answered_at.date(), "Question answered", by, GOOD, link, linked)
