"""Interval decisions and deferrals, from a workbook to `due_list --as-of`."""

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


def deferred(until="2025-06-30", approved="2024-12-20", policy="simple"):
    return (
        "tag | activity | due_on | until_on | policy | reason | approved_by | approved_on\n"
        f"PSV-1 | bench_test | 2025-01-01 | {until} | {policy} | no spare | Eve | {approved}"
    )


def test_a_deferral_is_never_green_and_runs_out(five_years):
    """The workbook's own contract: "past original date, deferred to D (policy)"."""
    five_years.must(deferrals=deferred())
    found = {}
    for day in ("2024-12-19", "2024-12-20", "2025-01-01", "2025-01-02", "2025-06-30", "2025-07-01"):
        row = five_years.due_of("PSV-1", day)
        found[day] = (row["status"], row["due_on"], row["deferred_until"])
    assert found == {
        "2024-12-19": ("due_soon", "2025-01-01", None),
        "2024-12-20": ("due_soon", "2025-01-01", "2025-06-30"),
        "2025-01-01": ("due_soon", "2025-01-01", "2025-06-30"),
        "2025-01-02": ("overdue_deferred", "2025-01-01", "2025-06-30"),
        "2025-06-30": ("overdue_deferred", "2025-01-01", "2025-06-30"),
        "2025-07-01": ("overdue", "2025-01-01", "2025-06-30"),
    }
    reason = five_years.due_of("PSV-1", "2025-01-02")["reason"]
    assert "past original date, deferred to 2025-06-30 (simple" in reason


def test_a_deferral_belongs_to_one_due_date(five_years):
    five_years.must(
        deferrals=deferred(),
        inspections="""
            ref | device | activity | done_on | done_by | verified_by | as_left_pop | disposition
            J | D-1 | bench_test | 2025-02-01 | Ann | Bo | 150 psig | repaired
        """,
    )
    row = five_years.due_of("PSV-1", "2025-02-01")
    assert (row["due_on"], row["deferred_until"]) == ("2030-02-01", None)


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


def test_a_deferral_of_a_day_that_is_not_due_is_told(five_years):
    said = five_years.must(deferrals=deferred().replace("2025-01-01", "2025-01-02"))
    assert said.notes == ["deferrals 2 due_on"] and "2025-01-01" in said.rows[0]["expected"]
    assert five_years.due_of("PSV-1", "2025-02-01")["status"] == "overdue"
