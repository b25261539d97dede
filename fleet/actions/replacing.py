"""What was owed under a rule goes on under the one that replaces it, from a day on.

Past days keep the rule then in force: what was owed ends, and its successor begins that day with
the decisions and the leave that still hold.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime

from fleet.actions import obligations
from fleet.actions.owing import SAMPLED, SEASONAL, contradictions
from fleet.calc.intervals import RuleError
from fleet.calc.units import parse_duration
from fleet.faults import Fault, Refused
from fleet.models import (
    Deferral,
    IntervalDecision,
    IntervalRule,
    Obligation,
    PositionDuty,
    ToleranceBand,
    User,
)

KEPT = ("position_id", "activity", "counts_from", "shelf_limit", "note")


@dataclass
class Move:
    """One obligation with what takes over from it; nothing of that is saved yet."""

    old: Obligation
    new: Obligation
    decisions: list[IntervalDecision] = field(default_factory=list)
    deferrals: list[Deferral] = field(default_factory=list)


def moves(old: IntervalRule, new: IntervalRule, from_on: date) -> list[Move]:
    """Everything open under the old rule. Raises Refused where the new rule cannot take it over;
    each fault names the position."""
    owed = Obligation.objects.filter(rule=old, until_on=None).select_related("position", "rule")
    found = [
        _move(row, new, from_on)
        for row in owed.prefetch_related("decisions", "deferrals").order_by("pk")
    ]
    faults = [fault for move in found for fault in _problems(move, from_on)]
    if faults:
        raise Refused(faults)
    return found


def carry_out(found: list[Move], from_on: date, *, by: User, at: datetime) -> None:
    """Write moves; the caller replays the positions."""
    obligations.end([(move.old, from_on) for move in found], by=by, at=at)
    obligations.owe([move.new for move in found], by=by, at=at)
    for move in found:  # with the key that the successor has now
        for decision in move.decisions:
            decision.obligation = move.new
        for deferral in move.deferrals:
            deferral.obligation = move.new
    obligations.decide([row for move in found for row in move.decisions], by=by, at=at)
    obligations.defer([row for move in found for row in move.deferrals], by=by, at=at)


def _move(old: Obligation, rule: IntervalRule, from_on: date) -> Move:
    new = Obligation(rule=rule, from_on=from_on, **{name: getattr(old, name) for name in KEPT})
    new.position = old.position
    new.season = old.season if rule.kind == SEASONAL else ""
    new.group = old.group if rule.kind == SAMPLED else ""
    return Move(
        old,
        new,
        [_carried(row, old, from_on) for row in _holding(old.decisions.all(), from_on)],
        [same_leave(row) for row in old.deferrals.all() if row.due_on >= from_on],
    )


def _holding(decisions: Iterable[IntervalDecision], from_on: date) -> list[IntervalDecision]:
    """The decision in force on the day, and those that take effect later."""
    ordered = sorted(decisions, key=lambda row: row.from_on)
    begun = [row for row in ordered if row.from_on <= from_on]
    return begun[-1:] + [row for row in ordered if row.from_on > from_on]


def _carried(row: IntervalDecision, old: Obligation, from_on: date) -> IntervalDecision:
    """The decision on the successor; one that takes effect only then or later is the same."""
    begins = max(row.from_on, from_on)
    before = f"carried over from {old.rule}: " if row.from_on < from_on else ""
    return IntervalDecision(
        from_on=begins,
        interval=row.interval,
        act_by=row.act_by if row.act_by and row.act_by >= begins else None,
        reason=before + row.reason,
        evidence=row.evidence,
        decided_by_id=row.decided_by_id,
    )


def same_leave(row: Deferral) -> Deferral:
    """Leave to pass a date ahead holds for the same date; for another it says nothing."""
    names = [f.attname for f in Deferral._meta.concrete_fields if not f.primary_key]
    kept = {name: getattr(row, name) for name in names}
    del kept["obligation_id"], kept["recorded_at"], kept["recorded_by_id"]
    return Deferral(**kept)


def _problems(move: Move, from_on: date) -> list[Fault]:
    place, new = f"{move.old.position}, {move.old.activity}", move.new
    faults = []
    if move.old.from_on is not None and move.old.from_on >= from_on:
        words = f"a day after {move.old.from_on}, when {place} is first owed under {move.old.rule}"
        faults.append(Fault("from_on", str(from_on), words, code="not_begun"))
    for fault in contradictions(new):
        words = f"a rule that {place} can be owed under: it would need {fault.expected}"
        faults.append(Fault("replaces", move.old.rule.code, words, code=fault.field))
    for row in move.decisions:
        try:
            new.rule.shape.check_interval(parse_duration(row.interval))
        except RuleError as error:
            words = (
                f"a rule that allows the interval decided on for {place}, {row.interval} from"
                f" {row.from_on}: expected {error.expected}"
            )
            faults.append(Fault("replaces", move.old.rule.code, words, code="decision"))
    return faults


def duties_naming(old: ToleranceBand, from_on: date) -> list[PositionDuty]:
    """The duty in force on a day, of every position where it names this tolerance.

    Raises Refused where a duty recorded for that day or a later one names it as well.
    """
    rows = PositionDuty.objects.filter(tolerance=old).select_related("position")
    named = {row.position_id for row in rows}
    history: dict[int, list[PositionDuty]] = defaultdict(list)
    for duty in PositionDuty.objects.filter(position__in=named).select_related("position"):
        history[duty.position_id].append(duty)
    found, faults = [], []
    for duties in history.values():
        duties.sort(key=lambda duty: duty.from_on or date.min)
        held = [duty for duty in duties if (duty.from_on or date.min) <= from_on]
        later = [duty for duty in duties if (duty.from_on or date.min) >= from_on]
        later = [duty for duty in later if duty.tolerance_id == old.pk]
        if held and held[-1].tolerance_id == old.pk:
            found.append(held[-1])
        if later:
            words = (
                f"a day after {later[-1].from_on}: the duty of {later[-1].position} recorded from"
                f" then names {old} and is never rewritten"
            )
            faults.append(Fault("from_on", str(from_on), words, code="dated_fact"))
    if faults:
        raise Refused(faults)
    return found


def next_duty(duty: PositionDuty, band: ToleranceBand, from_on: date, moc: str) -> PositionDuty:
    """The same duty, unsaved, with another tolerance from a day on."""
    left_out = {"id", "from_on", "moc", "tolerance_id", "recorded_at", "recorded_by_id"}
    names = {f.attname for f in PositionDuty._meta.concrete_fields} - left_out
    fresh = PositionDuty(from_on=from_on, moc=moc, tolerance=band)
    for name in names:
        setattr(fresh, name, getattr(duty, name))
    fresh.position = duty.position
    return fresh
