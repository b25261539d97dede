"""Members of a sampled group, each with a device and tests of its own, and when they are due."""

from datetime import date
from fractions import Fraction

from fleet.calc.duedates import NOWHERE, Event, Found, Owed, Spell, Standing
from fleet.calc.groups import Member, replay_group
from fleet.calc.intervals import shape_from

CLASS_1 = shape_from(
    "group_sample",
    {"fraction": "0.20", "window": "P24M", "gap": "P5Y", "expansion": 2, "band": "3 %"},
)
BEGAN = date(2010, 1, 1)
SOUND = Found(Fraction(1, 2), False, "in")
HIGH = Found(Fraction(5), False, "high")


def day(text):
    return date.fromisoformat(text)


def member(place, tests, *, shape=CLASS_1, place_facts=NOWHERE, **owed):
    """A member with its own device; tests: (day, what was found, does it count)."""
    events = [
        Event(place * 100 + n, place, None, "bench_test", on, found, counts)
        for n, (on, found, counts) in enumerate(tests)
    ]
    facts = {"commissioned_on": None, "counts_from": "done_on"} | owed
    return Member(
        f"M{place}",
        Owed("bench_test", shape, facts["counts_from"], None, facts["commissioned_on"], None, None),
        place,
        [Spell(place, place, BEGAN, None)],
        events,
        [],
        [Standing(None, True)],
        place_facts,
    )


def sound(*days):
    return [(day(text), SOUND, True) for text in days]


def on(spans, when):
    return next(s for s in spans if s.from_on <= when and (s.until_on is None or when < s.until_on))


def due(members, when, only=""):
    """{member: (due, limit)} on a day."""
    found = replay_group(members)
    lines = {k: on(spans, day(when)) for k, spans in found.items() if only in ("", k)}
    return {key: (line.due_on and str(line.due_on), line.limit) for key, line in lines.items()}


def vacant(number, *, since="2010-01-01"):
    """A member with nothing fitted from a day on."""
    there = member(number, sound("2011-01-01"))
    return there._replace(spells=[there.spells[0]._replace(removed_on=day(since))])
