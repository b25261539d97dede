"""What would move, were a rule replaced by another from a day on. Nothing is written."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256

from fleet import permissions
from fleet.actions.owing import SAMPLED
from fleet.actions.replacing import Move, moves
from fleet.calc import duedates
from fleet.calc.groups import Member, replay_group
from fleet.calc.units import parse_duration
from fleet.models import DueLine, IntervalRule, SpanState, User
from fleet.replay_facts import Facts, load_facts
from fleet.replays import group_key, member_of, owed_of

SHOWN = 20


@dataclass(frozen=True)
class Change:
    """One obligation's answer now, and what it would be on the day the new rule takes over."""

    position: int
    tag: str
    activity: str
    now: str
    now_on: date | None
    then: str
    then_on: date | None
    from_on: date

    @property
    def is_late(self) -> bool:
        """Past its date on the day that the new rule takes over: nobody could have met it."""
        return self.then_on is not None and self.then_on < self.from_on

    @property
    def days(self) -> int | None:
        """How many days later it would be due; less than nothing is sooner."""
        if self.now_on is None or self.then_on is None:
            return None
        return (self.then_on - self.now_on).days

    @property
    def words(self) -> str:
        if self.days is None:
            return "" if self.now == self.then else "another answer"
        number = abs(self.days)
        days = f"{number} day{'' if number == 1 else 's'}"
        return f"{days} {'later' if self.days > 0 else 'sooner'}" if number else "not at all"


@dataclass(frozen=True)
class Preview:
    """obligations, positions: how many move. elsewhere: how many positions of those stand at sites
    where this person may not change rules. changes: of those due soonest."""

    obligations: int
    positions: int
    elsewhere: int
    changes: tuple[Change, ...]
    digest: str  # tells whether what is saved is what was shown


def preview(
    old: IntervalRule, new: IntervalRule, from_on: date, *, user: User, today: date
) -> Preview:
    """Raises Refused where the new rule, unsaved, cannot take over what is owed under the old."""
    found = moves(old, new, from_on)
    places = {move.old.position_id: move.old.position for move in found}
    strange = [p for p in places.values() if not user.may(permissions.MANAGE_RULES, p.site_id)]
    lines = DueLine.objects.visible_to(user).filter(obligation__rule=old, obligation__until_on=None)
    first = {line.obligation_id: line for line in lines.order_by("order_on", "pk")[:SHOWN]}
    shown = [move for move in found if move.old.pk in first]
    day = max(from_on, today)
    then = _answers(found, shown, day)
    changes = tuple(_change(first[pk], then[pk], from_on) for pk in first if pk in then)
    digest = _digest(new, from_on, found)
    return Preview(len(found), len(places), len(strange), changes, digest)


def _digest(new: IntervalRule, from_on: date, found: Sequence[Move]) -> str:
    said = (new.code, new.kind, new.parameters, new.citation, new.edition, new.is_verified)
    moved = [(move.old.pk, len(move.decisions), len(move.deferrals)) for move in found]
    return sha256(repr((said, from_on, moved)).encode()).hexdigest()


def _answers(found: Sequence[Move], shown: Sequence[Move], day: date) -> dict[int, duedates.Span]:
    """The span of each shown obligation on a day, under the new rule; groups answer whole."""
    is_sampled = bool(shown) and shown[0].new.rule.kind == SAMPLED
    needed = _with_their_groups(found, shown) if is_sampled else list(shown)
    facts = load_facts([move.old.position_id for move in needed], [move.old.pk for move in needed])
    spans: dict[int, list[duedates.Span]] = {}
    groups: dict[tuple, list[Member]] = {}
    for move in needed:
        member = _member(move, facts)
        if is_sampled:
            groups.setdefault(_key(move), []).append(member)
        else:
            spans[move.old.pk] = duedates.replay(*member[1:])
    for members in groups.values():
        spans.update(replay_group(members))  # type: ignore[arg-type]
    return {pk: span for pk, own in spans.items() if (span := _on(own, day))}


def _with_their_groups(found: Iterable[Move], shown: Iterable[Move]) -> list[Move]:
    keys = {_key(move) for move in shown}
    return sorted(
        (move for move in found if _key(move) in keys), key=lambda move: move.old.position.tag
    )


def _key(move: Move) -> tuple:
    return group_key(move.new, move.old.position)


def _member(move: Move, facts: Facts) -> Member:
    decisions = [
        duedates.Decision(0, row.from_on, parse_duration(row.interval), row.act_by)
        for row in move.decisions
    ]
    member = member_of(move.old, move.old.position, facts)
    return member._replace(owed=owed_of(move.new, move.old.position), decisions=decisions)


def _on(spans: Iterable[duedates.Span], day: date) -> duedates.Span | None:
    for span in spans:
        if span.from_on <= day and (span.until_on is None or day < span.until_on):
            return span
    return None


def _change(line: DueLine, span: duedates.Span, from_on: date) -> Change:
    return Change(
        line.position_id,
        line.tag,
        line.activity,
        SpanState(line.state).label,
        line.due_on,
        SpanState(span.state).label,
        span.due_on,
        from_on,
    )
