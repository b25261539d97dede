"""Leave to pass a due date, from a workbook to `due_list --as-of`.

Past deferrals are history: what broke its policy loads, is a finding, and opens a question.
Policies: API 510, 11th edition, 6.7 (simple, assessed; from memory); UK PSSR 2000, regulation 9(7)
(single postponement; from memory); ASME OM Code Case OMN-20 (test period).
"""

import pytest

from tests.contract.plant import rows_of
from tests.contract.test_decisions import decided
from tests.contract.test_due_dates import DEVICE, FITTED, PLACE, done, owed

HEADS = ("tag | activity | due_on | until_on | policy | reason | interim_measure | document"
         " | notified_on | approved_by | approved_on")  # fmt: skip


@pytest.fixture
def five_years(plant):
    """Last done 2020-01-01 under five years (API 510 6.6.2, from memory): due 2025-01-01."""
    plant.must(positions=PLACE, devices=DEVICE, installations=FITTED,
               obligations=owed("api510-process"), inspections=done("2020-01-01"))  # fmt: skip
    return plant


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


def test_a_deferral_of_a_day_that_is_not_due_is_told(five_years):
    said = five_years.must(deferrals=deferred().replace("2025-01-01", "2025-01-02"))
    assert said.notes == ["deferrals 2 due_on"] and "2025-01-01" in said.rows[0]["expected"]
    assert five_years.due_of("PSV-1", "2025-02-01")["status"] == "overdue"


def leave(
    policy, until, *, due="2025-01-01", on="2024-12-20", measure="", document="", notified=""
):
    cells = ("PSV-1", "bench_test", due, until, policy, "no spare", measure, document, notified,
             "Eve", on)  # fmt: skip
    return " | ".join(cells)


def sheet(*rows: str) -> str:
    return "\n".join([HEADS, *rows])


@pytest.mark.parametrize(
    "row",
    [
        # 6 months, before 10 % of 1827 days, which would be 2 July
        leave("simple", "2025-07-01"),
        leave("simple", "2025-07-01", on="2025-01-01"),
        leave("assessed", "2027-01-01", measure="weekly check", document="RA-7"),
        leave("single_postponement", "2027-01-01", document="letter of 3 Dec",
              notified="2024-12-31"),
        leave("test_period", "2025-07-01"),
    ],
)  # fmt: skip
def test_what_keeps_to_its_policy_loads_without_a_word(five_years, row):
    said = five_years.must(deferrals=sheet(row))
    assert (said.findings, said.notes) == ([], [])
    assert five_years.due_of("PSV-1", "2025-01-02")["status"] == "overdue_deferred"


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        (leave("simple", "2025-07-02"), "until_on", "2025-07-01 at the latest: 6 months"),
        (leave("test_period", "2025-07-02"), "until_on", "OMN-20"),
        (leave("simple", "2025-03-01", on="2025-01-02"), "approved_on", "on or before"),
        (leave("assessed", "2025-03-01", document="RA-7"), "interim_measure", "safe meanwhile"),
        (leave("assessed", "2025-03-01", measure="x"), "document", "risk assessment"),
        (leave("single_postponement", "2025-03-01", document="x"), "notified_on", "9(7)"),
        (leave("single_postponement", "2025-03-01", document="x", notified="2025-01-01"),
         "notified_on", "before the due date"),
        (leave("single_postponement", "2025-03-01", notified="2024-12-01"), "document",
         "agreement in writing"),
    ],
)  # fmt: skip
def test_a_past_deferral_that_broke_its_policy_loads_as_a_finding(five_years, row, column, words):
    said = five_years.must(deferrals=sheet(row))
    assert said.findings == [f"deferrals 2 {column}"] and said.notes == []
    assert words in said.rows[0]["expected"]
    assert five_years.due_of("PSV-1", "2025-01-02")["status"] == "overdue_deferred"
    again = five_years.must(deferrals=sheet(row))
    assert again.rows == []


@pytest.mark.parametrize(
    ("days", "until", "finding"),
    [
        # P1Y: 365 days from 2023-01-01, a tenth is 36
        ("2023-01-01", "2024-02-06", []),
        ("2023-01-01", "2024-02-07", ["deferrals 2 until_on"]),
    ],
)
def test_a_tenth_of_a_year(plant, days, until, finding):
    plant.must(positions=PLACE, devices=DEVICE, installations=FITTED,
               obligations=owed("nbic-boiler-low"), inspections=done(days))  # fmt: skip
    row = leave("simple", until, due="2024-01-01", on="2023-12-20")
    assert plant.must(deferrals=sheet(row)).findings == finding


@pytest.mark.parametrize(
    ("until", "finding"), [("2024-04-25", []), ("2024-04-26", ["deferrals 2 until_on"])]
)
def test_a_quarter_of_ninety_two_days(plant, until, finding):
    plant.must(positions=PLACE, devices=DEVICE, installations=FITTED,
               obligations=owed("by-history"), inspections=done("2024-01-01"),
               decisions=decided("2024-01-01 | P92D | "))  # fmt: skip
    row = leave("test_period", until, due="2024-04-02", on="2024-03-20")
    assert plant.must(deferrals=sheet(row)).findings == finding


def test_a_second_simple_deferral_in_a_due_cycle_is_a_finding(five_years):
    """A decision moves the due date within the cycle; each due date was deferred once."""
    said = five_years.must(
        decisions=decided("2024-02-01 | P4Y | 2024-06-30"),
        deferrals=sheet(
            leave("simple", "2025-03-01", on="2024-01-10"),
            leave("simple", "2024-08-01", due="2024-06-30", on="2024-06-01"),
        ),
    )
    assert said.findings == ["deferrals 3 policy"]
    assert "once in a due cycle" in said.rows[0]["expected"]


def test_a_deferral_of_a_deferral_is_a_second_one_and_defers_nothing(five_years):
    said = five_years.must(
        deferrals=sheet(
            leave("simple", "2025-03-01"),
            leave("simple", "2025-05-01", due="2025-03-01", on="2025-02-20"),
        )
    )
    assert said.findings == ["deferrals 3 policy"] and said.notes == ["deferrals 3 due_on"]
    assert five_years.due_of("PSV-1", "2025-03-02")["status"] == "overdue"


def test_a_test_period_passed_twice_running_is_repeated_convenience(plant):
    plant.must(
        positions=PLACE, devices=DEVICE, installations=FITTED, obligations=owed("by-history"),
        decisions=decided("2024-01-01 | P92D | "), inspections=done("2024-01-01", "2024-04-20"),
    )  # fmt: skip
    said = plant.must(
        deferrals=sheet(
            leave("test_period", "2024-04-25", due="2024-04-02", on="2024-03-20"),
            leave("test_period", "2024-07-30", due="2024-07-21", on="2024-07-01"),
        )
    )
    assert said.findings == ["deferrals 3 policy"]
    assert "repeated convenience" in said.rows[0]["expected"]


def test_the_questions_stand_on_the_compliance_list(five_years, tmp_path):
    five_years.must(deferrals=sheet(leave("simple", "2026-07-02", on="2025-01-02")))
    [row] = rows_of("compliance_list", "--as-of", "2025-01-02")
    assert row["open_questions"] and row["deferral_policy"] == "simple"


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        (leave("simple", "2025-03-01").replace("Eve", ""), "deferrals 2 approved_by"),
        (leave("simple", "2025-03-01", on="2026-12-25"), "deferrals 2 approved_on"),
        (leave("simple", "2025-01-01"), "deferrals 2 until_on"),
        (leave("grace", "2025-03-01"), "deferrals 2 policy"),
        (leave("simple", "2025-03-01").replace("no spare", ""), "deferrals 2 reason"),
    ],
)
def test_what_is_missing_or_contradicts_itself_is_a_fault(five_years, row, fault):
    said = five_years.load(deferrals=sheet(row))
    assert said.faults == [fault]
    assert five_years.due_of("PSV-1", "2025-01-02")["status"] == "overdue"


def test_findings_depend_on_the_whole_run_and_not_on_its_order(plant):
    """Records, obligations and deferrals come in one load."""
    said = plant.must(
        deferrals=sheet(leave("simple", "2025-07-02")), inspections=done("2020-01-01"),
        positions=PLACE, devices=DEVICE, installations=FITTED, obligations=owed("api510-process"),
    )  # fmt: skip
    assert said.findings == ["deferrals 2 until_on"]
