"""Sampled groups through real records, by the workbook's own commands.

The rule: ASME OM Code, Mandatory Appendix I, I-1320 (the expansion and its band from memory): a
fifth of the group in any 24 months, each within 5 years; for a valve found outside the greater of
the owner's tolerance and 3 % of set, two more; for one of those, the whole group. The plant is made
up.
"""

import json

import pytest

from tests.contract.plant import run

TESTED = {
    "S-1": "2018-01-01",
    "S-2": "2018-02-01",
    "S-3": "2018-03-01",
    "S-4": "2018-04-01",
    "S-5": "2019-05-01",
    "S-6": "2019-06-01",
}
HEADS = (
    "ref | device | activity | done_on | done_by | verified_by | first_pop | no_lift_at |"
    " as_left_pop | disposition | corrects\n"
)
WIDE = "id | low | high | basis | citation\nwide | -6 % | 6 % | gauge | the owner's own"
NARROW = "id | low | high | basis | citation\nnarrow | -1 % | 1 % | gauge | the owner's own"
OWED = "tag | activity | rule | group | until_on\n"
DAY = "2020-03-01"


def record(ref, device, day, pop="1000 psig", *, no_lift="", left="1000 psig", how="reinstalled",
           corrects=""):  # fmt: skip
    cells = (ref, device, "bench_test", day, "Ann", "Bo", pop, no_lift, left, how, corrects)
    return " | ".join(cells)


def records(*rows):
    return HEADS + "\n".join(rows)


def stocked(plant, tolerance="asme8", tolerances=""):
    """Six valves set at 1000 psig, each tested sound once: two of six are owed in any window."""
    extra = {"tolerances": tolerances} if tolerances else {}
    tags = list(TESTED)
    plant.must(
        positions="site | tag | unit | set_pressure | tolerance\n"
        + "\n".join(f"Northmere | {tag} | Steam | 1000 psig | {tolerance}" for tag in tags),
        devices="device | kind\n" + "\n".join(f"D{tag} | spring" for tag in tags),
        installations="tag | device | installed_on\n"
        + "\n".join(f"{tag} | D{tag} | 2015-01-01" for tag in tags),
        obligations=OWED
        + "\n".join(f"{tag} | bench_test | om-class1 | Main steam |" for tag in tags),
        inspections=records(*(record(f"I-{tag}", f"D{tag}", on) for tag, on in TESTED.items())),
        **extra,
    )
    return plant


def dues(plant, day):
    return {row["tag"]: row["due_on"] for row in plant.due(day)}


def agrees(plant):
    said = run("check_due_dates", "--format", "json")
    return json.loads(said.out)["rows"] == []


@pytest.fixture
def group(plant):
    return stocked(plant)


def test_the_share_of_the_group_falls_on_the_longest_untested(group):
    assert dues(group, "2020-01-01") == {
        "S-1": "2021-05-01",  # 24 months after the second last test of the group
        "S-2": "2021-06-01",  # 24 months after the last
        "S-3": "2023-03-01",  # its own five years
        "S-4": "2023-04-01",
        "S-5": "2024-05-01",
        "S-6": "2024-06-01",
    }
    assert "at least 20 %" in group.due_of("S-1", "2020-01-01")["reason"] and agrees(group)


def test_a_first_pop_5_percent_high_calls_in_two_more_at_once(group):
    group.must(inspections=records(record("F-1", "DS-1", DAY, "1050 psig")))
    found = dues(group, DAY)
    assert [found[tag] for tag in ("S-2", "S-3")] == [DAY, DAY]
    assert found["S-4"] == "2023-04-01" and found["S-1"] == "2025-03-01"
    row = group.due_of("S-2", "2020-03-31")
    assert row["status"] == "overdue" and "a test in its group failed" in row["reason"]
    assert dues(group, "2020-02-29")["S-2"] == "2021-06-01"  # the day before, nobody knew
    assert agrees(group)


def test_a_failure_among_those_calls_in_the_whole_group(group):
    group.must(inspections=records(
        record("F-1", "DS-1", DAY, "1050 psig"), record("F-2", "DS-2", "2020-03-20", "955 psig")
    ))  # fmt: skip
    found = dues(group, "2020-03-20")
    assert found["S-3"] == DAY  # called in before, and not tested since
    assert [found[tag] for tag in ("S-4", "S-5", "S-6")] == ["2020-03-20"] * 3
    assert found["S-1"] == "2025-03-01"  # tested since the first failure
    assert "the whole group" in group.due_of("S-5", "2020-03-20")["reason"] and agrees(group)


def test_sound_tests_of_those_called_in_end_it(group):
    group.must(inspections=records(
        record("F-1", "DS-1", DAY, "1050 psig"),
        record("A-2", "DS-2", "2020-03-10"),
        record("A-3", "DS-3", "2020-03-12"),
    ))  # fmt: skip
    found = dues(group, "2020-03-12")
    assert (found["S-2"], found["S-3"]) == ("2025-03-10", "2025-03-12")
    assert found["S-4"] == "2022-03-10" and agrees(group)  # two of six again: those of March


@pytest.mark.parametrize(
    ("tolerance", "sheet", "pop", "fails"),
    [
        ("wide", WIDE, "1050 psig", False),  # +5 %: inside the owner's 6 %, the greater
        ("wide", WIDE, "1061 psig", True),
        ("narrow", NARROW, "1020 psig", False),  # +2 %: outside the owner's, inside 3 %
        ("narrow", NARROW, "1031 psig", True),
        ("narrow", NARROW, "969 psig", True),
    ],
)
def test_the_greater_of_the_owner_s_tolerance_and_3_percent(plant, tolerance, sheet, pop, fails):
    stocked(plant, tolerance, sheet)
    plant.must(inspections=records(record("F-1", "DS-1", DAY, pop)))
    assert (dues(plant, DAY)["S-2"] == DAY) is fails and agrees(plant)


def test_one_that_did_not_open_failed_though_nothing_says_at_what_it_would(group):
    """A right-censored value: no lift up to a pressure is no proof that it lifts below."""
    group.must(inspections=records(record("F-1", "DS-1", DAY, "", no_lift="1020 psig")))
    assert dues(group, DAY)["S-2"] == DAY


def test_one_found_failing_and_scrapped_calls_in_others_and_resets_nothing(group):
    group.must(
        inspections=records(record("F-1", "DS-1", DAY, "1050 psig", left="", how="scrapped"))
    )
    found = dues(group, DAY)
    assert (found["S-1"], found["S-2"], found["S-3"]) == ("2021-05-01", DAY, DAY)
    assert agrees(group)


def test_a_correction_takes_back_whom_the_record_called_in(group):
    before = dues(group, DAY)
    group.must(inspections=records(record("F-1", "DS-1", DAY, "1050 psig")))
    assert dues(group, DAY)["S-2"] == DAY
    group.must(inspections=records(record("F-2", "DS-1", DAY, "1005 psig", corrects="F-1")))
    after = dues(group, DAY)
    assert after["S-2"] == before["S-2"] and after["S-1"] == "2025-03-01" and agrees(group)


def ended(*tags, on="2020-06-01"):
    return OWED + "\n".join(f"{tag} | bench_test | om-class1 | Main steam | {on}" for tag in tags)


def test_one_that_leaves_makes_the_group_smaller(group):
    said = group.must(obligations=ended("S-6"))
    assert said.notes == []
    assert dues(group, "2020-06-01") == {
        "S-1": "2021-05-01",  # a fifth of five is one
        "S-2": "2023-02-01",
        "S-3": "2023-03-01",
        "S-4": "2023-04-01",
        "S-5": "2024-05-01",
        "S-6": None,
    }
    assert agrees(group)


def test_a_group_that_nobody_is_left_in_is_allowed_and_told(group):
    said = group.must(obligations=ended(*list(TESTED)[:5]))
    assert said.notes == []
    said = group.must(obligations=ended("S-6", on="2020-07-01"))
    assert said.notes == ["obligations 2 until_on"]
    assert "nobody is in it any more" in said.rows[0]["expected"]
    assert dues(group, "2020-06-30")["S-6"] == "2021-06-01"  # one of one, in any 24 months
    assert set(dues(group, "2020-07-01").values()) == {None} and agrees(group)


def test_the_whole_group_leaving_at_once_is_told_once(group):
    said = group.must(obligations=ended(*TESTED))
    assert said.notes == ["obligations 7 until_on"]


def test_the_order_of_the_sheets_says_nothing(plant, tmp_path):
    """Tests, failures and leavings in one load or in several: the same dates."""
    stocked(plant)
    late = [
        record("F-1", "DS-1", DAY, "1050 psig"),
        record("F-2", "DS-2", "2020-03-20", "955 psig"),
    ]
    for row in reversed(late):
        plant.must(inspections=records(row))
    assert [dues(plant, "2020-03-20")[tag] for tag in ("S-3", "S-4")] == [DAY, "2020-03-20"]
    assert agrees(plant)
