"""What `plan_outages` prints, against the contract's own definitions worked out by trying all.

The oracle shares no code with the product: it reads the due list and the sheets it loaded, tries
every assignment and keeps the best in the contract's order (fewest unplaced, fewest days late,
fewest days given up).
"""

import itertools
import json
import random
from datetime import date, timedelta
from decimal import Decimal

import pytest

from tests.contract.plant import run

COLUMNS = [
    *("site", "tag", "activity", "due_on", "outage", "planned_on", "hours"),
    *("days_given_up", "status", "days_late", "reason"),
]
SUMMARY = {
    *("jobs", "unplaced", "unplaced_bound", "days_given_up", "days_bound"),
    *("gap", "seconds", "solver_status"),
}
FROM, TO = "2026-12-01", "2028-12-31"
DAY = date.fromisoformat


def stocked(plant, dones, outages, hours="8", isolation="none"):
    """Positions T-n of one unit whose five-year bench test was done on these days ("" = never)."""
    number = range(len(dones))
    plant.must(
        positions="site | tag | unit | set_pressure | tolerance | isolation\n" + "\n".join(
            f"Northmere | T-{n} | Stills | 150 psig | asme8 | {isolation}" for n in number
        ),
        devices="device | kind\n" + "\n".join(f"D-{n} | spring" for n in number),
        installations="tag | device | installed_on\n" + "\n".join(
            f"T-{n} | D-{n} | 2018-01-01" for n in number
        ),
        obligations="tag | activity | rule\n" + "\n".join(
            f"T-{n} | bench_test | api510-process" for n in number
        ),
        inspections="ref | device | activity | done_on | done_by | verified_by | first_pop |"
        " as_left_pop\n" + "\n".join(
            f"I-{n} | D-{n} | bench_test | {day} | Ann | Bo | 150 psig | 150 psig"
            for n, day in enumerate(dones) if day
        ),
        outages="name | units | starts_on | ends_on | bench_hours\n" + "\n".join(
            f"{name} | Stills | {start} | {end} | {room}" for name, start, end, room in outages
        ),
        job_hours=f"activity | kind | hours\nbench_test | | {hours}",
    )  # fmt: skip


def planned(*extra):
    said = run("plan_outages", "--from", FROM, "--to", TO, "--format", "json", *extra)
    assert not said.failed, said.err
    out = json.loads(said.out)
    assert set(out["summary"]) == SUMMARY
    assert all(list(row) == COLUMNS for row in out["rows"])
    return {row["tag"]: row for row in out["rows"]}, out["summary"]


def test_each_status_of_the_contract(plant):
    """An outage serves what is due on the day it begins; what none serves has no opportunity."""
    stocked(
        plant,
        ["2022-05-01", "2022-04-30", "2021-06-01", "", "2024-02-01"],
        [("Spring", "2027-05-01", "2027-05-21", "100")],
    )
    rows, summary = planned()
    assert rows["T-0"]["outage"] == "Spring" and rows["T-0"]["days_given_up"] == 0
    assert (rows["T-0"]["status"], rows["T-0"]["planned_on"]) == ("placed", "2027-05-01")
    assert rows["T-1"]["status"] == "no_opportunity" and rows["T-1"]["outage"] is None
    assert rows["T-2"]["status"] == "no_opportunity"  # overdue on the first day of the plan
    assert rows["T-3"]["status"] == "placed" and rows["T-3"]["due_on"] is None
    assert "T-4" not in rows  # due in February 2029, after the plan ends
    assert (summary["jobs"], summary["unplaced"]) == (4, 2)


def test_a_deferral_lets_a_later_outage_take_it_late(plant):
    stocked(plant, ["2022-03-01"], [("Spring", "2027-05-01", "2027-05-21", "100")])
    plant.must(
        deferrals="tag | activity | due_on | until_on | policy | reason | approved_by |"
        " approved_on\nT-0 | bench_test | 2027-03-01 | 2027-06-01 | assessed | parts | Eve |"
        " 2026-10-01"
    )
    rows, _ = planned()
    assert (rows["T-0"]["status"], rows["T-0"]["days_late"]) == ("late", 61)


def test_a_changeover_can_be_worked_on_stream(plant):
    stocked(plant, ["2022-03-01"], [], isolation="changeover")
    rows, summary = planned()
    assert rows["T-0"]["status"] == "online" and rows["T-0"]["outage"] is None
    assert DAY(FROM) <= DAY(rows["T-0"]["planned_on"]) <= date(2027, 3, 1)
    assert summary["unplaced"] == 0


def test_hours_that_fit_no_job_leave_it_without_an_opportunity(plant):
    stocked(plant, ["2023-05-01"], [("Short", "2028-05-01", "2028-05-05", "4")])
    rows, summary = planned()
    assert rows["T-0"]["status"] == "no_opportunity" and "4 h" in rows["T-0"]["reason"]
    assert (summary["unplaced"], summary["unplaced_bound"]) == (1, 1)


def test_two_outages_of_one_unit_at_once_are_said(plant):
    said = plant.load(
        positions="site | tag | unit | set_pressure\nNorthmere | T-0 | Stills | 150 psig",
        outages="name | units | starts_on | ends_on\nA | Stills | 2027-05-01 | 2027-05-21\n"
        "B | Stills | 2027-05-21 | 2027-06-01",
    )
    assert not said.failed and said.notes == ["outages 2 units", "outages 3 units"]


def test_an_outage_without_hours_takes_nothing_and_one_not_told_of_is_not_limited(plant):
    days = [("None", "2027-02-01", "2027-02-05", "0"), ("Free", "2027-05-01", "2027-05-05", "")]
    stocked(plant, ["2022-03-01", "2022-06-01"], days)
    rows, _ = planned()
    assert rows["T-0"]["status"] == "no_opportunity"
    assert "None (offers no bench hours)" in rows["T-0"]["reason"]
    assert rows["T-1"]["outage"] == "Free"


def test_csv_has_the_columns_and_the_empty_plant_an_empty_plan(plant):
    said = run("plan_outages", "--from", FROM, "--to", TO, "--format", "csv")
    assert said.out.strip() == ",".join(COLUMNS)


@pytest.mark.parametrize("seed", range(6))
def test_no_assignment_is_better(plant, seed):
    draw = random.Random(seed)
    dones = [str(date(2022, 1, 1) + timedelta(days=draw.randrange(700))) for _ in range(6)]
    starts = sorted(date(2027, 1, 10) + timedelta(days=draw.randrange(650)) for _ in range(3))
    outages = [
        (f"O{n}", start, start + timedelta(days=14), draw.choice([8, 16, 20, 24]))
        for n, start in enumerate(starts)
    ]
    stocked(plant, dones, outages, hours=draw.choice(["8", "7.25", "6.5"]))
    due = {row["tag"]: row["due_on"] for row in plant.due(FROM)}
    rows, summary = planned()
    assert (summary["unplaced"], summary["days_given_up"]) == best(rows, due, outages)
    assert summary["solver_status"] == "optimal"


def best(rows, due, outages) -> tuple[int, int]:
    """Fewest unplaced, then fewest days given up, of all assignments there are."""
    tags = sorted(rows)
    ways = []
    for tag in tags:
        serving = [n for n, (_, start, _, _) in enumerate(outages) if start <= DAY(due[tag])]
        ways.append([None, *serving])
    found = []
    for way in itertools.product(*ways):
        needed = [Decimal(0)] * len(outages)
        for tag, place in zip(tags, way, strict=True):
            if place is not None:
                needed[place] += Decimal(rows[tag]["hours"])
        if all(hours <= Decimal(outages[n][3]) for n, hours in enumerate(needed)):
            days = sum(
                (DAY(due[tag]) - outages[place][1]).days
                for tag, place in zip(tags, way, strict=True)
                if place is not None
            )
            found.append((way.count(None), days))
    return min(found)
