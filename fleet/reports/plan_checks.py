"""What a plan does not say by itself: checks on its lines, each with its reason in words.

They stop nothing: an outage takes a job whose capacity is unknown. What would leave a duty short
while its unit runs, or sampled windows short, is `is_grave`.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from fleet.calc.activities import satisfies
from fleet.calc.coverage import COVERED, SHORT, UNKNOWN, coverage
from fleet.calc.groups import Member
from fleet.calc.quota import Shortfall, shortfalls
from fleet.calc.spares import shared_out
from fleet.models import Obligation, Plan, PlannedJob, Position
from fleet.replay_facts import load_facts
from fleet.replays import GROUP_SAMPLE, group_key, in_turn, member_of
from fleet.reports.chances import NEEDS_OUTAGE
from fleet.reports.coverage import Protection, protection_of
from fleet.reports.on_stream import Offer, on_stream_at
from fleet.reports.spares import shelf_for

ONLINE = PlannedJob.Status.ONLINE
SHOWN = 5


@dataclass(frozen=True)
class Planned:
    """One line of a plan, as far as it is checked."""

    position: int
    activity: str
    planned_on: date | None
    outage: int | None
    hours: Decimal | None
    status: str


@dataclass(frozen=True)
class PlanCheck:
    """kind: quota_short, protection_short, spare_lacking, hours_not_given or capacity_unknown."""

    kind: str
    words: str
    positions: tuple[int, ...]
    planned_on: date | None = None
    is_grave: bool = False


def lines_of_plan(plan: Plan) -> list[Planned]:
    names = ("position", "activity", "planned_on", "outage", "hours", "status")
    return [Planned(*row) for row in plan.jobs.order_by("pk").values_list(*names)]


def plan_checks(
    lines: Sequence[Planned], *, site: int, from_on: date, to_on: date
) -> list[PlanCheck]:
    """The grave ones first. At most eighty queries, whatever the number of lines."""
    away = [line for line in lines if line.planned_on and line.activity in NEEDS_OUTAGE]
    protection = protection_of({line.position for line in away}, from_on)
    tags = {pk: place.position.tag for pk, place in protection.places.items()}
    online = [line for line in away if line.status == ONLINE]
    found = [
        *_of_protection(online, protection, tags, from_on),
        *_of_quotas(lines, site, from_on, to_on),
        *_of_hours(away, tags),
        *_of_capacity([line for line in away if line.status != ONLINE], protection, tags),
    ]
    return sorted(found, key=lambda check: not check.is_grave)


def _of_protection(
    online: Sequence[Planned], protection: Protection, tags: Mapping[int, str], day: date
) -> Iterable[PlanCheck]:
    """Week by week: is every duty covered with all of its positions that are out, and is there a
    spare for each that rests on one? A spare serves one visit of a week."""
    if not online:
        return
    offers = on_stream_at({line.position for line in online}, day).offers
    by_spare = {pk for pk, offer in offers.items() if offer.spares}
    weeks: dict[date, set[int]] = defaultdict(set)
    for line in online:
        if line.planned_on:
            weeks[line.planned_on].add(line.position)
    shelf = shelf_for({pk: protection.places[pk] for pk in by_spare}, day) if by_spare else None
    for week, out in sorted(weeks.items()):
        yield from _uncovered(week, out - by_spare, protection, offers, tags)
        if shelf and (asking := sorted(out & by_spare)):
            then = replace(shelf, day=week)
            suited = {pk: [s.device.pk for s in then.fitting(pk)] for pk in asking}
            suited = {pk: [d for d in ds if d in offers[pk].spares] for pk, ds in suited.items()}
            yield from _lacking(week, suited, tags, {pk: then.why_none(pk) for pk in asking})


def _uncovered(
    week: date,
    out: set[int],
    protection: Protection,
    offers: Mapping[int, Offer],
    tags: Mapping[int, str],
) -> Iterable[PlanCheck]:
    duties = {id(d): d for pk in sorted(out) for d in [protection.duties[pk]]}
    for duty in duties.values():
        gone = sorted(out & {member.position for member in duty.members}, key=tags.__getitem__)
        answer = coverage(duty, gone)
        if answer.kind == COVERED:
            continue
        alone = offers.get(gone[0]) if len(gone) == 1 else None
        why = alone.words if alone and not alone.is_offered else answer.words
        kind = "capacity_unknown" if answer.kind == UNKNOWN else "protection_short"
        words = f"with {_some(gone, tags)} out on stream, {why}"
        yield PlanCheck(kind, words, tuple(gone), week, is_grave=True)


def _lacking(
    week: date, suited: dict[int, list[int]], tags: Mapping[int, str], why: Mapping[int, str]
) -> Iterable[PlanCheck]:
    served = shared_out(suited)
    for pk, spares in suited.items():
        if pk in served:
            continue
        words = f"no spare for {tags[pk]}: {why[pk] or 'none is rated for its duty'}"
        if spares:
            others = sorted(o for o, spare in served.items() if spare in spares)
            words = f"no spare for {tags[pk]}: those that fit go to {_some(others, tags)}"
        yield PlanCheck("spare_lacking", words, (pk,), week, is_grave=True)


def _of_quotas(
    lines: Sequence[Planned], site: int, from_on: date, to_on: date
) -> Iterable[PlanCheck]:
    """Up to the end of the first window: what falls due again after that is another plan's."""
    groups, positions = _groups(site)
    for owed, members in groups:
        until = min(to_on, owed.rule.shape.window.after(from_on) - timedelta(days=1))
        days: dict[object, set[date]] = defaultdict(set)
        keys = {member.position: member.key for member in members}
        for line in lines:
            if (
                line.planned_on
                and line.position in keys
                and satisfies(line.activity, owed.activity)
            ):
                days[keys[line.position]].add(line.planned_on)
        if short := shortfalls(members, days, from_on, until):
            place = {member.key: member.position for member in members}
            who = tuple(place[key] for key in short[0].next)
            tags = {pk: positions[pk].tag for pk in who}
            yield PlanCheck("quota_short", _quota(owed, short[0], who, tags), who, None, True)


def _quota(owed: Obligation, short: Shortfall, who: tuple[int, ...], tags: dict[int, str]) -> str:
    window = owed.rule.shape.window
    return (
        f"group {owed.group or owed.activity}, {owed.rule}: from {short.on} its window of"
        f" {window.words} would hold {short.held} tested, and needs {short.needed} of"
        f" {short.size}; the longest untested: {_some(who, tags)}"
    )


def _groups(site: int) -> tuple[list[tuple[Obligation, list[Member]]], dict[int, Position]]:
    """Every sampled group of a site with its members in their turn. About ten queries."""
    rows = list(
        Obligation.objects.filter(position__site=site, rule__kind=GROUP_SAMPLE)
        .select_related("rule", "position")
        .order_by("pk")
    )
    positions = {row.position_id: row.position for row in rows}
    facts = load_facts(sorted(positions), [row.pk for row in rows], with_stored=False)
    grouped: dict[tuple, list[Obligation]] = defaultdict(list)
    for row in rows:
        grouped[group_key(row, row.position)].append(row)
    found = []
    for owed in grouped.values():
        members = [member_of(row, row.position, facts) for row in owed]
        found.append((owed[0], in_turn(members, positions)))
    return found, positions


def _of_hours(away: Sequence[Planned], tags: Mapping[int, str]) -> Iterable[PlanCheck]:
    lacking: dict[str, set[int]] = defaultdict(set)
    for line in away:
        if line.hours is None:
            lacking[line.activity].add(line.position)
    for activity, keys in sorted(lacking.items()):
        who = sorted(keys, key=tags.__getitem__)
        what = activity.replace("_", " ")
        words = f"nobody has said what hours {what} takes at {_some(who, tags)}: counted as none"
        yield PlanCheck("hours_not_given", words, tuple(who))


def _of_capacity(
    away: Sequence[Planned], protection: Protection, tags: Mapping[int, str]
) -> Iterable[PlanCheck]:
    """In an outage an unknown capacity is only said, once for all."""
    lacking = set()
    for pk in {line.position for line in away}:
        duty = protection.duties[pk]
        if coverage(duty, []).kind not in (COVERED, SHORT):
            lacking.add(pk)
    if lacking:
        who = sorted(lacking, key=tags.__getitem__)
        words = f"relieving capacity is not known or not comparable at {_some(who, tags)}"
        yield PlanCheck("capacity_unknown", words, tuple(who))


def _some(keys: Sequence[int], tags: Mapping[int, str]) -> str:
    """The first few tags, and how many more there are."""
    shown = ", ".join(tags[pk] for pk in keys[:SHOWN])
    more = len(keys) - SHOWN
    return f"{shown} and {more} more" if more > 0 else shown
