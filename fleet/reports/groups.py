"""Sampled groups: what each must have tested in any window, what it has, and who is owed next.

A group has no row of its own: it is one name at one site, for one activity under one rule, and is
addressed by any obligation in it.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any, NamedTuple

from fleet.calc.group_windows import holds
from fleet.calc.groups import COUNTED_IN
from fleet.calc.intervals import EXPANSION, WHOLE_GROUP, GroupSample
from fleet.models import IntervalRule, Obligation, ObligationSpan, SpanState, User
from fleet.replays import GROUP_SAMPLE

CALLED_IN = (EXPANSION, WHOLE_GROUP)
COLUMNS = (
    "site",
    "group",
    "activity",
    "rule",
    "citation",
    "rule_in_words",
    "members",
    "needed_in_window",
    "tested_in_window",
    "begun_in_window",
    "next_due_on",
    "next_tags",
    "called_in",
    "late",
    "no_date",
)


class Stand(NamedTuple):
    """One member on a day. is_done: a test was done for it, not only its beginning counted."""

    position: int
    tag: str
    state: str
    due_on: date | None
    last_on: date | None
    is_done: bool
    limit: str


@dataclass(frozen=True)
class Summary:
    """A group on a day. members: those counted, not who is out of service. tested, begun: of them,
    by what the window that ends on the day holds. undated: those with no record or no device."""

    members: int
    needed: int
    tested: int
    begun: int
    next_on: date | None
    following: tuple[Stand, ...]  # who is owed on next_on
    called: int
    is_whole: bool
    late: int
    undated: int
    idle: int

    @property
    def short(self) -> int:
        """How many too few the window holds."""
        return max(self.needed - self.tested - self.begun, 0)


def summary_of(shape: GroupSample, stands: Sequence[Stand], as_of: date) -> Summary:
    counted = [stand for stand in stands if stand.state in COUNTED_IN]
    dated = [stand for stand in counted if stand.due_on is not None]
    held = [stand for stand in dated if holds(shape, stand.last_on, as_of)]
    next_on = min((stand.due_on for stand in dated if stand.due_on), default=None)
    called = [stand.limit for stand in dated if stand.limit in CALLED_IN]
    return Summary(
        members=len(counted),
        needed=shape.needed(len(counted)) if counted else 0,
        tested=sum(stand.is_done for stand in held),
        begun=sum(not stand.is_done for stand in held),
        next_on=next_on,
        following=tuple(stand for stand in dated if stand.due_on == next_on),
        called=len(called),
        is_whole=WHOLE_GROUP in called,
        late=sum(stand.due_on is not None and stand.due_on < as_of for stand in dated),
        undated=sum(stand.state != SpanState.DATED for stand in counted),
        idle=len(stands) - len(counted),
    )


@dataclass(frozen=True)
class GroupRow:
    """One group of the list. pk: the first obligation that was ever in it, its address."""

    pk: int
    site: str
    group: str
    activity: str
    rule: IntervalRule
    summary: Summary
    left_on: date | None  # where nobody is in it any more: when the last one left

    def as_dict(self) -> dict[str, Any]:
        said = self.summary
        return {
            "site": self.site,
            "group": self.group,
            "activity": self.activity,
            "rule": self.rule.code,
            "citation": self.rule.citation,
            "rule_in_words": self.rule.shape.words(),
            "members": said.members,
            "needed_in_window": said.needed,
            "tested_in_window": said.tested,
            "begun_in_window": said.begun,
            "next_due_on": said.next_on,
            "next_tags": ";".join(stand.tag for stand in said.following),
            "called_in": said.called,
            "late": said.late,
            "no_date": said.undated,
        }


@dataclass(frozen=True)
class GroupList:
    """Every sampled group at the reader's sites, as it stands on a day. Two queries."""

    as_of: date
    user: User

    @cached_property
    def every(self) -> list[GroupRow]:
        """By site and name; those that nobody is in are in it too."""
        stands: dict[int, list[Stand]] = defaultdict(list)
        for pk, stand in _stands(self.as_of, self.user):
            stands[pk].append(stand)
        groups: dict[tuple, list[Obligation]] = defaultdict(list)
        rows = Obligation.objects.visible_to(self.user).filter(rule__kind=GROUP_SAMPLE)
        for row in rows.select_related("rule", "position__site").order_by("pk"):
            groups[(row.position.site_id, row.group, row.activity, row.rule_id)].append(row)
        found = [self._row(owed, stands) for owed in groups.values()]
        return sorted(found, key=lambda row: (row.site, row.group, row.activity, row.pk))

    def _row(self, owed: list[Obligation], stands: dict[int, list[Stand]]) -> GroupRow:
        first, here = owed[0], [stand for row in owed for stand in stands.get(row.pk, ())]
        ends = [row.until_on for row in owed if row.until_on and row.until_on <= self.as_of]
        return GroupRow(
            pk=first.pk,
            site=first.position.site.name,
            group=first.group,
            activity=first.activity,
            rule=first.rule,
            summary=summary_of(first.rule.shape, here, self.as_of),
            left_on=None if here else max(ends, default=None),
        )

    @property
    def living(self) -> list[GroupRow]:
        return [row for row in self.every if row.summary.members or row.summary.idle]

    @property
    def empty(self) -> list[GroupRow]:
        """Those that nobody is in on the day."""
        return [row for row in self.every if not row.summary.members and not row.summary.idle]


def _stands(as_of: date, user: User) -> Iterable[tuple[int, Stand]]:
    spans = ObligationSpan.objects.visible_to(user).known().on(as_of)
    rows = spans.filter(obligation__rule__kind=GROUP_SAMPLE).order_by("obligation__position__tag")
    columns = ("state", "due_on", "last_on", "event", "limit")
    place = ("obligation__position", "obligation__position__tag")
    for pk, position, tag, state, due_on, last_on, event, limit in rows.values_list(
        "obligation", *place, *columns
    ):
        yield pk, Stand(position, tag, state, due_on, last_on, event is not None, limit)
