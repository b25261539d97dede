"""Interval decisions, from a workbook to `due_list --as-of`."""

import pytest

from tests.contract.test_due_dates import DEVICE, FITTED, PLACE, done, owed


@pytest.fixture
def five_years(plant):
    """Last done 2020-01-01 under five years (API 510 6.6.2, from memory)."""
    plant.must(positions=PLACE, devices=DEVICE, installations=FITTED,
               obligations=owed("api510-process"), inspections=done("2020-01-01"))  # fmt: skip
    return plant


def decided(*rows: str) -> str:
    heads = "tag | activity | from_on | interval | act_by | reason | decided_by"
    return "\n".join([heads, *(f"PSV-1 | bench_test | {row} | two low pops | Eve" for row in rows)])


def test_a_decision_re_dates_the_running_clock_from_its_day(five_years):
    """The workbook's own contract: P3Y from 2023-06-01 would be due 2023-01-01, so act_by is."""
    five_years.must(decisions=decided("2023-06-01 | P3Y | 2023-09-30"))
    assert five_years.due_of("PSV-1", "2023-05-31")["due_on"] == "2025-01-01"
    row = five_years.due_of("PSV-1", "2023-06-01")
    assert (row["due_on"], row["status"]) == ("2023-09-30", "compliant")
    assert five_years.due_of("PSV-1", "2023-10-01")["status"] == "overdue"
    five_years.must(
        inspections="""
        ref | device | activity | done_on | done_by | verified_by | as_left_pop | disposition
        J | D-1 | bench_test | 2023-08-01 | Ann | Bo | 150 psig | repaired
    """
    )
    assert five_years.due_of("PSV-1", "2023-08-01")["due_on"] == "2026-08-01"
    assert five_years.due_of("PSV-1", "2023-07-31")["due_on"] == "2023-09-30"


def test_without_act_by_what_the_interval_gives_is_overdue_at_once(five_years):
    five_years.must(decisions=decided("2023-06-01 | P3Y | "))
    row = five_years.due_of("PSV-1", "2023-06-01")
    assert (row["due_on"], row["status"], row["days_left"]) == ("2023-01-01", "overdue", -151)


def test_no_decision_asks_for_work_before_it_holds(five_years):
    """It would be a date nobody could have met."""
    said = five_years.load(decisions=decided("2023-06-01 | P3Y | 2023-05-31"))
    assert said.faults == ["decisions 2 act_by"]


def test_the_latest_decision_wins(five_years):
    five_years.must(decisions=decided("2021-06-01 | P3Y | ", "2022-06-01 | P4Y | "))
    assert five_years.due_of("PSV-1", "2021-05-31")["due_on"] == "2025-01-01"
    assert five_years.due_of("PSV-1", "2021-06-01")["due_on"] == "2023-01-01"
    assert five_years.due_of("PSV-1", "2022-06-01")["due_on"] == "2024-01-01"


@pytest.mark.parametrize(
    ("interval", "day", "due_on"),
    [("P18M", "2024-08-31", "2026-02-28"), ("P12M", "2024-02-29", "2025-02-28"),
     ("P7M15D", "2024-01-31", "2024-09-15"), ("P92D", "2024-01-01", "2024-04-02")],
)  # fmt: skip
def test_by_history_is_due_only_by_decision(plant, interval, day, due_on):
    """API RP 576: the interval follows the performance in the service. Months clamp to the end
    of the month and come before days (ISO 8601)."""
    plant.must(positions=PLACE, devices=DEVICE, installations=FITTED,
               obligations=owed("by-history"), inspections=done(day))  # fmt: skip
    row = plant.due_of("PSV-1", "2025-01-01")
    assert (row["status"], row["due_on"], row["days_left"]) == ("interval_not_set", None, None)
    plant.must(decisions=decided(f"2024-09-01 | {interval} | "))
    assert plant.due_of("PSV-1", "2024-08-31")["status"] == "interval_not_set"
    assert plant.due_of("PSV-1", "2024-09-01")["due_on"] == due_on


def test_due_soon_is_ninety_days(five_years):
    """2024-10-03 is 90 days before 2025-01-01."""
    assert five_years.due_of("PSV-1", "2024-10-02")["status"] == "compliant"
    row = five_years.due_of("PSV-1", "2024-10-03")
    assert (row["status"], row["days_left"]) == ("due_soon", 90)
    assert five_years.due_of("PSV-1", "2025-01-02")["days_left"] == -1


def test_a_decision_finds_the_obligation_of_its_day(plant):
    """One rule ended, another took over: each decision belongs to what was owed on its day."""
    plant.must(
        positions=PLACE, devices=DEVICE, installations=FITTED, inspections=done("2015-01-01"),
        obligations="""
            tag | activity | rule | from_on | until_on
            PSV-1 | bench_test | api510-process | | 2020-01-01
            PSV-1 | bench_test | api510-clean | 2020-01-01 |
        """,
        decisions=decided("2018-01-01 | P4Y | ", "2021-01-01 | P8Y | "),
    )  # fmt: skip
    assert plant.due_of("PSV-1", "2019-12-31")["due_on"] == "2019-01-01"
    assert plant.due_of("PSV-1", "2020-06-01")["due_on"] == "2025-01-01"
    assert plant.due_of("PSV-1", "2021-01-01")["due_on"] == "2023-01-01"


@pytest.mark.parametrize(
    ("rule", "interval", "expected"),
    [
        # 49 CFR 192.739(a): at most 15 months, and no decision of the owner makes it more
        ("us-49cfr192.739", "P18M", "15 months"),
        # 30 CFR 250.804(a)(2), 2015 edition: 12 months
        ("us-30cfr250-psv", "P366D", "12 months"),
        # 49 CFR 230.50: counted in service days, so there is no interval to decide on
        ("us-49cfr230.50", "P1Y", "no decision"),
    ],
)
def test_a_decision_past_the_rule_s_ceiling_is_refused(plant, rule, interval, expected):
    plant.must(positions=PLACE, devices=DEVICE, installations=FITTED, obligations=owed(rule),
               inspections=done("2024-01-01"))  # fmt: skip
    said = plant.load(decisions=decided(f"2024-06-01 | {interval} | "))
    assert said.faults == ["decisions 2 interval"]
    [row] = said.rows
    assert row["typed"] == interval and expected in row["expected"] and rule in row["expected"]


def test_a_decision_may_always_shorten(plant):
    plant.must(positions=PLACE, devices=DEVICE, installations=FITTED,
               obligations=owed("us-49cfr192.739"), inspections=done("2024-01-01"),
               decisions=decided("2024-06-01 | P9M | "))  # fmt: skip
    assert plant.due_of("PSV-1", "2024-06-01")["due_on"] == "2024-10-01"


def test_with_one_past_the_ceiling_none_of_the_run_is_written(five_years):
    said = five_years.load(decisions=decided("2021-06-01 | P3Y | ", "2022-06-01 | P40Y | "))
    assert said.faults == ["decisions 3 interval"]
    assert five_years.due_of("PSV-1", "2021-06-01")["due_on"] == "2025-01-01"


@pytest.mark.parametrize("interval", ["P1Y2W", "P2W3D"])
def test_weeks_stand_alone_in_an_interval(five_years, interval):
    """ISO 8601-1:2019, 5.5.2.3: the week form of a duration holds weeks and nothing else."""
    assert five_years.load(decisions=decided(f"2021-06-01 | {interval} | ")).faults == [
        "decisions 2 interval"
    ]
