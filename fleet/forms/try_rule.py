"""Trying a rule: past days typed as people write them, and what else the rule asks for."""

import re
from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from django import forms

from fleet.calc.examples import Example
from fleet.calc.intervals import (
    TRIGGER_KINDS,
    AfterEvent,
    AgeSteps,
    BeforeUse,
    GroupSample,
    Reading,
    RuleError,
    Shape,
    Trigger,
    Usage,
)
from fleet.calc.shapes.calendars import season_day
from fleet.calc.typed_dates import parse_date
from fleet.calc.units import UnitsError
from fleet.forms.days import FIRST_YEAR, LAST_YEAR, Day

FAILED = "failed"
MOST_DAYS, MOST_MEMBERS = 60, 40
ONE_A_LINE = "Days such as 2024-10-01, one a line."
A_READING = "a day and what the counter stood at, such as 2024-07-01 46"
FIGURE = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,4})?", re.ASCII)


def typed_days(text: str) -> Iterator[date]:
    """Days one a line, or parted by commas. Raises ValidationError naming what is none."""
    for piece in text.replace(";", ",").replace("\n", ",").split(","):
        if typed := piece.strip():
            yield typed_day(typed)


def typed_day(typed: str) -> date:
    expected = "a day such as 2024-10-01 was expected"
    try:
        found = parse_date(typed)
    except UnitsError as error:
        raise forms.ValidationError(f"“{typed[:40]}”: {expected}.") from error
    if found.is_partial:
        raise forms.ValidationError(f"“{typed}”: {expected}, the day of the month with it.")
    if not FIRST_YEAR <= found.on.year <= LAST_YEAR:
        raise forms.ValidationError(f"“{typed}”: a year from {FIRST_YEAR} to {LAST_YEAR}.")
    return found.on


class Lines(forms.CharField):
    """A box of several lines; `rows` high."""

    def __init__(self, *, rows: int, **kwargs) -> None:
        attrs = {"rows": rows, "spellcheck": "false", "autocomplete": "off"}
        super().__init__(max_length=4000, widget=forms.Textarea(attrs=attrs), **kwargs)


class Days(Lines):
    """Several days, ascending, each once."""

    def clean(self, value: str) -> tuple[date, ...]:
        days = tuple(sorted(set(typed_days(super().clean(value)))))
        if len(days) > MOST_DAYS:
            raise forms.ValidationError(f"{len(days)} days: up to {MOST_DAYS} were expected.")
        return days


class Readings(Lines):
    """(day, figure) a line, ascending."""

    def clean(self, value: str) -> tuple[tuple[date, Fraction], ...]:
        lines = [line.strip() for line in super().clean(value).splitlines() if line.strip()]
        found = sorted(self._line(line) for line in lines)
        for (day, figure), (later, risen) in pairwise(found):
            if later == day:
                raise forms.ValidationError(f"Two readings on {day}: one was expected.")
            if risen < figure:
                raise forms.ValidationError(
                    f"“{later}”: a counter never runs back; it stood at {figure} on {day}."
                )
        return tuple(found)

    def _line(self, line: str) -> tuple[date, Fraction]:
        day, _, figure = line.replace(":", " ").replace(",", " ").partition(" ")
        if not FIGURE.fullmatch(figure.strip()):
            raise forms.ValidationError(f"“{line[:40]}”: {A_READING} was expected.")
        return typed_day(day), Fraction(figure.strip())


class TypedMember(NamedTuple):
    """When a member was tested, ascending, and which of those tests failed."""

    done: tuple[date, ...]
    failed: tuple[date, ...]


class Members(Lines):
    """{name: its tests}, a member a line: `A: 2020-01-01, 2022-03-01 failed`."""

    def clean(self, value: str) -> dict[str, TypedMember]:
        found: dict[str, TypedMember] = {}
        for line in super().clean(value).splitlines():
            name, _, tests = (part.strip() for part in line.partition(":"))
            if not name:
                if tests:
                    raise forms.ValidationError(f"“{line[:40]}”: a name before the colon.")
                continue
            if name in found:
                raise forms.ValidationError(f"“{name[:40]}” stands twice: once was expected.")
            found[name[:40]] = self._tests(tests)
        if len(found) > MOST_MEMBERS:
            raise forms.ValidationError(f"{len(found)} members: up to {MOST_MEMBERS}.")
        return found

    def _tests(self, typed: str) -> TypedMember:
        done, failed = set(), set()
        for piece in filter(None, map(str.strip, typed.replace(";", ",").split(","))):
            day = typed_day(piece.removesuffix(FAILED).strip())
            done.add(day)
            if piece.endswith(FAILED):
                failed.add(day)
        return TypedMember(tuple(sorted(done)), tuple(sorted(failed)))


class TryForm(forms.Form):
    """Only what this rule asks for. `facts()` gives what was typed, as an example."""

    use_required_attribute = False

    members = Members(
        rows=6,
        label="Members, and when each was tested",
        help_text="A member on each line: PSV-1: 2020-01-01, 2022-03-01 failed.",
    )
    in_service_on = Day(label="Entered service on", help_text="Its age counts from this day.")
    season = forms.CharField(
        label="Season begins on",
        max_length=5,
        help_text="Month and day, MM-DD: 10-01 is 1 October.",
        widget=forms.TextInput(attrs={"placeholder": "10-01", "autocomplete": "off"}),
    )
    kind = forms.ChoiceField(label="What happened")
    happened = Days(
        rows=2,
        label="It happened on",
        required=False,
        help_text="Days such as 2024-10-01, one a line.",
    )
    done = Days(rows=4, label="It was done on", help_text="Days such as 2024-10-01, one a line.")
    readings = Readings(
        rows=4,
        label="The counter stood at",
        help_text="A day and a figure on each line: 2024-07-01 46.",
    )

    def __init__(self, data, *, shape: Shape, today: date, example: Example | None = None) -> None:
        super().__init__(data, initial=typed_of(example) if example else {}, auto_id="try_%s")
        self.shape, self.today = shape, today
        for name in set(self.fields) - set(asked_of(shape)):
            del self.fields[name]
        if isinstance(shape, AfterEvent) and "kind" in self.fields:
            self.fields["kind"].choices = [(kind, TRIGGER_KINDS[kind]) for kind in shape.kinds]
        if "done" in self.fields:
            self.fields["done"].required = shape.needs_history

    def clean_season(self) -> str:
        try:
            season_day(self.cleaned_data["season"])
        except RuleError as error:
            raise forms.ValidationError(f"“{error.typed}”: {error.expected}.") from error
        return self.cleaned_data["season"]

    def clean(self) -> dict:
        cleaned = super().clean()
        entered, done = cleaned.get("in_service_on"), cleaned.get("done")
        if entered and done and done[0] < entered:
            self.add_error("done", f"“{done[0]}”: a day from {entered}, when it entered service.")
        return cleaned

    def facts(self) -> Example:
        """As of today, or of the last day typed where that is later."""
        typed = self.cleaned_data
        kinds = self.shape.kinds if isinstance(self.shape, AfterEvent) else ("",)
        counter = self.shape.counter if isinstance(self.shape, Usage) else ""
        kind, happened = typed.get("kind") or kinds[0], typed.get("happened", ())
        readings, members = typed.get("readings", ()), typed.get("members", {})
        days = [*typed.get("done", ()), *happened, *(day for day, _ in readings)]
        days += [day for member in members.values() for day in member.done]
        return Example(
            max([self.today, *days]),
            None,
            done=typed.get("done", ()),
            in_service_on=typed.get("in_service_on"),
            season=typed.get("season", ""),
            triggers=tuple(Trigger(kind, day) for day in happened),
            readings=tuple(Reading(counter, day, figure) for day, figure in readings),
            members={name: member.done for name, member in members.items()},
        )

    def failed(self) -> dict[str, tuple[date, ...]]:
        """Of each member of a group the days on which it failed."""
        members = self.cleaned_data.get("members", {})
        return {name: member.failed for name, member in members.items()}


def asked_of(shape: Shape) -> tuple[str, ...]:
    """The boxes that a rule of this shape needs."""
    if isinstance(shape, GroupSample):
        return ("members",)
    if isinstance(shape, AfterEvent):
        return ("happened", "done", *(["kind"] if len(shape.kinds) > 1 else []))
    more = {AgeSteps: "in_service_on", BeforeUse: "season", Usage: "readings"}.get(type(shape))
    return ("done", more) if more else ("done",)


def typed_of(example: Example) -> dict[str, str]:
    """An example as somebody would type it."""
    return {
        "done": "\n".join(map(str, example.done)),
        "members": "\n".join(
            f"{name}: {', '.join(map(str, done))}" for name, done in example.members.items()
        ),
        "in_service_on": example.in_service_on or "",
        "season": example.season,
        "kind": example.triggers[0].kind if example.triggers else "",
        "happened": "\n".join(str(row.happened_on) for row in example.triggers),
        "readings": "\n".join(f"{row.read_on} {row.value}" for row in example.readings),
    }
