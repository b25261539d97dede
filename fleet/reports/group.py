"""One sampled group on a day: its members, who is next, and what each failure called in."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from fleet.calc.clocks import DATED
from fleet.calc.duedates import Event, Span, spans_of
from fleet.calc.failures import Tested, done_at
from fleet.calc.group_windows import Step, holds, step_on, steps
from fleet.calc.groups import COUNTED_IN, Call, Member, Sweep, follow
from fleet.calc.intervals import GroupSample
from fleet.models import Device, Obligation, ObligationSpan, Position, User
from fleet.replays import load_group
from fleet.reports.due import DueList, DueRow
from fleet.reports.due_ask import Ask
from fleet.reports.group_rows import Away, Called, CallRow, DrawnTest, MemberRow, found_words
from fleet.reports.groups import Stand, Summary, summary_of


@dataclass(frozen=True)
class Group:
    """The group of an obligation as it stands at the end of a day. About thirty queries, whatever
    its size."""

    owed: Obligation
    as_of: date
    user: User

    @cached_property
    def shape(self) -> GroupSample:
        return self.owed.rule.shape

    @cached_property
    def _loaded(self) -> tuple[list[Member], dict[int, Position]]:
        return load_group(self.owed)

    @property
    def _members(self) -> list[Member]:
        return self._loaded[0]

    @property
    def pk(self) -> Any:
        """Its address in the list: the first obligation that was ever in it."""
        return min(member.key for member in self._members)  # type: ignore[type-var]

    @cached_property
    def _sweep(self) -> Sweep:
        return follow(self._members, self.as_of)

    @cached_property
    def _spans(self) -> list[list[Span]]:
        """By place, what held up to the day; the last goes on until what is owed ends."""
        answers = zip(self._members, self._sweep.answers, strict=True)
        return [spans_of(member.owed, given) for member, given in answers]

    @cached_property
    def steps(self) -> list[Step]:
        """What each window holds, on from the day as if nobody else were tested."""
        return steps(self.shape, (span for spans in self._spans for span in spans))

    @cached_property
    def now(self) -> Step:
        return step_on(self.steps, self.as_of)

    @cached_property
    def _due(self) -> dict[Any, DueRow]:
        """The lines of the due list, by what is owed."""
        due = DueList(self.as_of, self.user, Ask(group=self.owed.pk))
        return {row.line.obligation: row for row in due.every_row()}

    @cached_property
    def _stored(self) -> dict[int | None, ObligationSpan]:
        return {**ObligationSpan.objects.in_bulk([row.line.span for row in self._due.values()])}

    @cached_property
    def rows(self) -> list[MemberRow]:
        """Every member, who is next first."""
        by_key = self._due
        places = [place for place, m in enumerate(self._members) if m.key in by_key]
        places.sort(key=self._turn)
        counted = sum(self._is_counted(place) for place in places)
        return [
            self._row(place, by_key[self._members[place].key], turn if turn <= counted else None)
            for turn, place in enumerate(places, 1)
        ]

    def _is_counted(self, place: int) -> bool:
        own = self._sweep.own[place]
        return own is not None and own.state in COUNTED_IN

    def _turn(self, place: int) -> tuple[bool, date, int]:
        """Longest untested first; those never tested lead, those not counted come last."""
        own = self._sweep.own[place]
        last_on = own.last_on if own and own.state == DATED else None
        return (not self._is_counted(place), last_on or date.min, place)

    def _row(self, place: int, due: DueRow, order: int | None) -> MemberRow:
        member, own, span = (
            self._members[place],
            self._sweep.own[place],
            self._stored[due.line.span],
        )
        is_dated = span.state == DATED
        events = {event.id: event for event in member.events}
        done = events.get(span.event_id) if span.event_id is not None else None
        return MemberRow(
            order=order,
            due=due,
            in_window=is_dated and holds(self.shape, span.last_on, self.as_of),
            is_done=done is not None,
            found=done.found if done else None,
            own_due_on=own.due_on if own and own.state == DATED else None,
            limit=span.limit if is_dated else "",
            called=self._sweep.pulled.get(place),
            tests=self._tests(place, events),
        )

    def _tests(self, place: int, events: Mapping[int, Event]) -> tuple[DrawnTest, ...]:
        member = self._members[place]
        done = done_at(member.position, member.owed, member.spells, member.events)
        found: dict[date, DrawnTest] = {}
        for one in done:
            test = self._test(one)
            if test.on <= self.as_of and (test.failed or test.on not in found):
                found[test.on] = test
        for span in self._spans[place]:
            event = events.get(span.event) if span.event is not None else None
            if event is not None and event.done_on not in found:
                found[event.done_on] = self._test(event)._replace(is_here=False)
        return tuple(found[on] for on in sorted(found))

    def _test(self, event: Event) -> DrawnTest:
        if event.found is None:
            return DrawnTest(event.done_on, None, found_words(None))
        said = Tested(event.done_on, event.found)
        failed, words = said.is_failure(self.shape.band), found_words(event.found)
        return DrawnTest(event.done_on, failed, words, is_low=event.found.verdict == "low")

    @cached_property
    def summary(self) -> Summary:
        return summary_of(self.shape, [_stand(row) for row in self.rows], self.as_of)

    @cached_property
    def calls(self) -> list[CallRow]:
        """Every failure, the latest first."""
        sweep, names = self._sweep, self._device_names()
        return [self._call(call, sweep, names) for call in reversed(sweep.calls)]

    def _device_names(self) -> dict[int, str]:
        ids = {self._failed(call).device for call in self._sweep.calls}
        rows = Device.objects.filter(pk__in={pk for pk in ids if pk is not None})
        return dict(rows.values_list("pk", "number"))

    def _failed(self, call: Call) -> Event:
        """The test that failed."""
        member = self._members[call.failed]
        done = done_at(member.position, member.owed, member.spells, member.events)
        return next(e for e in done if e.done_on == call.on and e.found == call.found)

    def _call(self, call: Call, sweep: Sweep, names: Mapping[int, str]) -> CallRow:
        device = self._failed(call).device
        return CallRow(
            on=call.on,
            position=self._members[call.failed].position,
            tag=self._tag(call.failed),
            device=names.get(device, "") if device is not None else "",
            found=found_words(call.found),
            limit=call.limit,
            called=tuple(
                Called(
                    self._members[place].position,
                    self._tag(place),
                    next((on for on in sweep.answered[place] if on >= call.on), None),
                    not self._is_counted(place),
                )
                for place in call.called
            ),
        )

    def _tag(self, place: int) -> str:
        return self._loaded[1][self._members[place].position].tag

    @cached_property
    def away(self) -> list[Away]:
        """Who left and when, the last first; and who has not joined yet."""
        listed = {row.due.line.obligation for row in self.rows}
        gone = [
            (place, member)
            for place, member in enumerate(self._members)
            if member.key not in listed
        ]
        instead = _owed_instead(self.owed, [m.position for _, m in gone], self.as_of)
        rows = [
            Away(m.position, self._tag(place), m.owed.from_on, m.owed.until_on,
                 ", ".join(instead[m.position]))
            for place, m in gone
        ]  # fmt: skip
        return sorted(rows, key=lambda row: (row.until_on or date.max).toordinal(), reverse=True)

    @cached_property
    def last_day(self) -> date | None:
        """The last day somebody was in it, where nobody is and nobody will be."""
        ends = [row.until_on for row in self.away]
        if self.rows or not ends or None in ends:
            return None
        return max(end for end in ends if end) - timedelta(days=1)


def _stand(row: MemberRow) -> Stand:
    line = row.due.line
    return Stand(
        line.position,
        row.due.tag,
        line.state,
        line.due_on,
        row.due.counted_from,
        row.is_done,
        row.limit,
    )


def _owed_instead(owed: Obligation, positions: Sequence[int], as_of: date) -> dict[int, list[str]]:
    """What positions that are not in the group owe of the same activity on the day."""
    rows = Obligation.objects.filter(position__in=positions, activity=owed.activity)
    rows = rows.exclude(rule=owed.rule_id, group=owed.group).exclude(until_on__lte=as_of)
    found: dict[int, list[str]] = defaultdict(list)
    for position, rule, group in rows.exclude(from_on__gt=as_of).values_list(
        "position", "rule__code", "group"
    ):
        found[position].append(f"{rule}, group {group}" if group else rule)
    return found
