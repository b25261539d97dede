"""The demo's due list on its last day is one that a planner would believe."""

from collections import Counter
from datetime import date
from fractions import Fraction

import pytest

from fleet.calc.activities import EARNED_IN_PLACE
from fleet.calc.duedates import (
    Decision,
    Event,
    Idle,
    Owed,
    Place,
    Spell,
    Standing,
    replay,
)
from fleet.calc.durations import parse_duration
from fleet.calc.intervals import Reading, Trigger
from inspections.demo.plant import AS_OF
from tests.inspections.demo.sheets import day, grouped, known_rules, rows

SOON = 90  # days
COUNTS = {"repaired", "reinstalled"}


def spells_of() -> list[Spell]:
    return [
        Spell(r["device"], r["tag"], day(r["installed_on"]), day(r["removed_on"]))
        for r in rows("installations")
    ]


def stood_at(device: str, on, spells: list[Spell]) -> str | None:
    return next(
        (s.position for s in spells if s.device == device and s.installed_on <= on
         and (s.removed_on is None or on < s.removed_on)), None,
    )  # fmt: skip


def events_of(by_device: dict[str, list[Spell]]) -> list[Event]:
    events = []
    for number, row in enumerate(rows("inspections")):
        if row["disposition"] in COUNTS and not row["corrects"]:
            in_place = row["activity"] in EARNED_IN_PLACE
            on = day(row["done_on"])
            tag = stood_at(row["device"], on, by_device[row["device"]]) if in_place else None
            device = None if in_place else row["device"]
            events.append(Event(number, device, tag, row["activity"], on))
    return events


def place_at(tag: str) -> Place:
    """What happened there beside the work."""
    idle, read, told = (
        [row for row in rows(sheet) if row["tag"] == tag]
        for sheet in ("out_of_service", "counters", "triggers")
    )
    return Place(
        [Idle(day(r["from_on"]), day(r["to_on"])) for r in idle],
        [Reading(r["counter"], day(r["read_on"]), Fraction(r["value"])) for r in read],
        [Trigger(r["kind"], day(r["happened_on"])) for r in told],
    )


def owed_of(row: dict[str, str], position: dict[str, str]) -> Owed:
    limit = parse_duration(row["shelf_limit"]) if row["shelf_limit"] else None
    return Owed(
        row["activity"],
        known_rules()[row["rule"]],
        row["counts_from"] or "done_on",
        limit,
        day(position["commissioned_on"]),
        day(row["from_on"]),
        day(row["until_on"]),
        row["season"],
        in_service_of(position),
    )


def in_service_of(position: dict[str, str]):
    typed = position["in_service_on"]
    return day(f"{typed}-01" if len(typed) == len("2017-02") else typed)


@pytest.fixture(scope="module")
def due_list() -> dict[tuple[str, str], tuple[str, object]]:
    """(tag, activity) -> (status, due_on) on the last day, by replay; of several rules for one
    activity, what the earliest gives. What is sampled in a group is the group's to say."""
    spells = spells_of()
    by_device = {d: [s for s in spells if s.device == d] for d in {s.device for s in spells}}
    for row in rows("devices"):
        by_device.setdefault(row["device"], [])
    events = events_of(by_device)
    positions = {row["tag"]: row for row in rows("positions")}
    decided = grouped(rows("decisions"), "tag")
    listed = {}
    for row in rows("obligations"):
        tag = row["tag"]
        if row["group"] or (row["until_on"] and day(row["until_on"]) <= AS_OF):
            continue
        here = {s.device for s in spells if s.position == tag}
        mine = [s for device in here for s in by_device[device]]
        counted = [e for e in events if e.device in here or e.position == tag]
        decisions = [
            Decision(n, day(d["from_on"]), parse_duration(d["interval"]), day(d["act_by"]))
            for n, d in enumerate(decided.get(tag, []))
            if d["activity"] == row["activity"]
        ]
        required = positions[tag]["status"] not in ("removed", "out_of_service")
        spans = replay(
            owed_of(row, positions[tag]),
            tag,
            mine,
            counted,
            decisions,
            [Standing(None, required)],
            place_at(tag),
        )
        span = next(s for s in spans if s.until_on is None or s.until_on > AS_OF)
        said = status(span), span.due_on
        listed[tag, row["activity"]] = min(
            said, listed.get((tag, row["activity"]), said), key=lambda one: one[1] or date.max
        )
    return listed


def status(span) -> str:
    if span.state != "dated":
        return "compliant" if span.state == "waiting" else span.state
    left = (span.due_on - AS_OF).days
    return "overdue" if left < 0 else "due_soon" if left <= SOON else "compliant"


def test_most_is_in_order_and_a_little_is_not(due_list):
    count = Counter(state for state, _ in due_list.values())
    assert 2 <= count["overdue"] <= 10
    assert 10 <= count["due_soon"] <= 40
    assert count["no_device"] == count["no_record"] == 1
    assert count["interval_not_set"] == 4
    assert count["compliant"] > 500


@pytest.mark.parametrize(
    ("tag", "activity", "state"),
    [
        ("SV-5306", "in_place_test", "overdue"),
        ("SV-5405", "lever", "overdue"),
        ("PSV-4302", "bench_test", "overdue"),  # behind its deferral
        ("PSV-3403", "bench_test", "due_soon"),
        ("PSV-5604", "bench_test", "no_device"),
        ("PSV-5505", "bench_test", "no_record"),
        ("PSV-3604", "bench_test", "interval_not_set"),
        ("TRV-1008", "bench_test", "not_required"),
        ("SV-5802", "in_place_test", "overdue"),
        ("PSE-2802", "disc_change", "due_soon"),
        ("PSV-9104", "bench_test", "interval_not_set"),
        ("SV-9512", "in_place_test", "interval_not_set"),
        ("PSV-5905", "bench_test", "not_required"),
    ],
)
def test_a_story_of_the_due_list_is_on_it(due_list, tag, activity, state):
    assert due_list[tag, activity][0] == state


@pytest.mark.parametrize("tag", ["PSV-4302", "PSV-5902", "PSV-5903", "PSV-5904", "RV-201"])
def test_an_approved_deferral_passes_the_due_date_that_the_replay_gives(due_list, tag):
    deferral = next(row for row in rows("deferrals") if row["tag"] == tag)
    assert day(deferral["due_on"]) == due_list[tag, deferral["activity"]][1]
    assert day(deferral["approved_on"]) <= day(deferral["due_on"])
    assert (day(deferral["until_on"]) > AS_OF) == (tag != "PSV-5904")


def test_no_outage_serves_two_positions_in_time(due_list):
    """Not isolated on stream, dated, and no outage of the unit starts by then."""
    outages = [row for row in rows("outages") if day(row["starts_on"]) > AS_OF]
    positions = {row["tag"]: row for row in rows("positions")}
    unserved = set()
    for (tag, activity), (state, due_on) in due_list.items():
        place = positions[tag]
        on_stream = activity in ("visual", "lever", "in_place_test", "capacity_review")
        if state in ("due_soon", "compliant") and place["isolation"] == "none" and not on_stream:
            serving = [
                o
                for o in outages
                if place["unit"] in o["units"].split("; ") and day(o["starts_on"]) <= due_on
            ]
            unserved |= set() if serving else {tag}
    assert unserved == {"PSV-2103", "PSV-3403"}


def test_a_position_that_owes_nothing_is_there_to_be_found(due_list):
    owing = {row["tag"] for row in rows("obligations")}
    assert {row["tag"] for row in rows("positions")} - owing == {"PSV-5703"}
