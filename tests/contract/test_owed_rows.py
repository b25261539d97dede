"""What a row of the obligations sheet must say under its rule; records of a place that was not.

Each check is the workbook's own contract unless it names another source.
"""

import pytest

PLACES = """
    site | tag | unit | set_pressure | tolerance | in_service_on | commissioned_on
    Northmere | PSV-1 | Stills | 150 psig | asme8 | 2010-06-01 | 2010-05-01
    Northmere | PSV-2 | Stills | 150 psig | asme8 | |
"""
DEVICES = "device | kind\nD-1 | spring\nD-2 | spring"
FITTED = "tag | device | installed_on\nPSV-1 | D-1 | 2009-01-10\nPSV-2 | D-2 | 2009-01-11"
OWED = "tag | activity | rule | season | group | from_on | until_on\n"
DONE = "ref | device | activity | done_on | done_by | verified_by | as_left_pop | disposition\n"
SAMPLED = (
    "id | kind | parameters\nours | group_sample |"
    ' {"fraction": "0.20", "window": "P24M", "gap": "P5Y", "expansion": 2, "band": "3 %"}'
)


@pytest.fixture
def stocked(plant):
    plant.must(positions=PLACES, devices=DEVICES, installations=FITTED)
    return plant


def refused(plant, column, **sheets):
    before = plant.export()
    said = plant.load(**sheets)
    assert said.failed and plant.export() == before
    assert said.faults == [column]
    return said.rows[0]


@pytest.mark.parametrize(
    "season", ["", "02-29", "10-1", "13-01", "04-31", "00-10", "1 Oct", "2024"]
)
def test_a_season_is_a_day_that_every_year_has(stocked, season):
    """NBIC NB-23 Part 4 (from memory): a heating boiler's valve is tested before the season."""
    owed = OWED + f"PSV-1 | bench_test | nbic-heating | {season} | | |"
    row = refused(stocked, "obligations 2 season", obligations=owed)
    assert "MM-DD" in row["expected"]


def test_a_season_belongs_to_a_rule_that_asks_for_one(stocked):
    stocked.must(obligations=OWED + "PSV-1 | bench_test | nbic-heating | 10-01 | | |")
    refused(stocked, "obligations 2 season",
            obligations=OWED + "PSV-2 | bench_test | api510-process | 10-01 | | |")  # fmt: skip


def test_a_group_belongs_to_a_rule_that_samples(stocked):
    """ASME OM Code, Mandatory Appendix I: relief valves are sampled from their group."""
    refused(stocked, "obligations 2 group",
            obligations=OWED + "PSV-1 | bench_test | om-class1 | | | |")  # fmt: skip
    refused(stocked, "obligations 2 group",
            obligations=OWED + "PSV-1 | bench_test | api510-process | | G-1 | |")  # fmt: skip
    stocked.must(obligations=OWED + "PSV-1 | bench_test | om-class1 | | G-1 | |")


def test_a_group_lives_under_one_rule(stocked):
    stocked.must(rules=SAMPLED)
    both = "PSV-1 | bench_test | om-class1 | | G-1 | |\nPSV-2 | bench_test | {} | | {} | {} |"
    refused(stocked, "obligations 3 group", obligations=OWED + both.format("ours", "G-1", ""))
    stocked.must(obligations=OWED + both.format("ours", "G-2", ""))  # another group
    refused(stocked, "obligations 2 group",
            obligations=OWED + "PSV-2 | bench_test | om-class2 | | G-1 | |")  # fmt: skip
    stocked.must(obligations=OWED + "PSV-2 | visual | om-class2 | | G-1 | |")  # another activity


def test_one_rule_may_follow_another_in_a_group(stocked):
    stocked.must(
        rules=SAMPLED,
        obligations=OWED + "PSV-1 | bench_test | om-class1 | | G-1 | | 2020-01-01\n"
        "PSV-2 | bench_test | ours | | G-1 | 2020-01-01 |",
    )


def test_a_rule_that_goes_by_age_asks_for_the_age(stocked):
    """49 CFR 180.605(c), specification 60 tanks: the interval goes by the tank's age."""
    said = stocked.must(obligations=OWED + "PSV-1 | visual | us-49cfr180.605-60 | | | |\n"
                        "PSV-2 | visual | us-49cfr180.605-60 | | | |")  # fmt: skip
    assert said.findings == ["obligations 3 rule"]
    assert "age unknown" in said.rows[0]["expected"]
    assert stocked.due_of("PSV-2", "2026-01-01")["status"] == "interval_not_set"
    assert stocked.due_of("PSV-1", "2011-01-01")["due_on"] == "2014-06-01"


def test_a_counter_that_nobody_reads_is_told(stocked):
    """49 CFR 230.50: 92 service days; without readings there is no date."""
    owed = OWED + "PSV-1 | bench_test | us-49cfr230.50 | | | |"
    said = stocked.must(obligations=owed)
    assert said.notes == ["obligations 2 rule"] and "service_days" in said.rows[0]["expected"]
    said = stocked.must(
        obligations=owed.replace("PSV-1", "PSV-2"),
        counters="tag | counter | read_on | value\nPSV-2 | service_days | 2024-01-01 | 5",
    )
    assert said.notes == []


@pytest.mark.parametrize("activity", ["visual", "capacity_review"])
@pytest.mark.parametrize(("day", "asks"), [("2010-05-31", True), ("2010-06-01", False)])
def test_nothing_is_earned_at_a_place_before_it_was_there(stocked, activity, day, asks):
    said = stocked.must(inspections=DONE + f"I | D-1 | {activity} | {day} | Ann | Bo | |")
    assert said.findings == (["inspections 2 done_on"] if asks else [])


def test_what_a_device_earned_earlier_is_its_own(stocked):
    done = DONE + "I | D-1 | bench_test | 2009-05-31 | Ann | Bo | 150 psig | repaired"
    assert stocked.must(inspections=done).findings == []


def test_two_records_of_one_device_on_one_day_are_asked(stocked):
    one = "{} | D-1 | bench_test | 2015-05-02 | Ann | Bo | 150 psig | repaired\n"
    said = stocked.must(inspections=DONE + one.format("I-1") + one.format("I-2"))
    assert said.findings == ["inspections 3 done_on"] and "I-1" in said.rows[0]["expected"]
    assert stocked.must(inspections=DONE + one.format("I-3")).findings == ["inspections 2 done_on"]
    other = one.format("I-4").replace("bench_test", "overhaul")
    assert stocked.must(inspections=DONE + other).findings == []
    assert stocked.must(inspections=DONE + one.format("I-1")).findings == []


def test_a_correction_is_no_second_record(stocked):
    heads = DONE.strip() + " | corrects\n"
    one = "{} | D-1 | bench_test | 2015-05-02 | Ann | Bo | 150 psig | repaired | {}\n"
    said = stocked.must(inspections=heads + one.format("I-1", "") + one.format("I-2", "I-1"))
    assert said.findings == []
