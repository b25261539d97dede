"""What the list commands print: columns, envelopes, digits, streams and exits.

Each check is the workbook's own contract unless it names another source.
"""

import csv
import io
import json
import re

import pytest

from tests.contract.plant import run

DUE = re.split(
    ", ",
    "site, unit, tag, device, serial, kind, activity, rule, counts_from, last_done_on, target_on,"
    " due_on, status, days_left, deferred_until, open_proposal, last_outage_before_due,"
    " next_outage, reason",
)
SETTINGS = re.split(
    ", ",
    "site, tag, device, serial, model, setting, unit, datum, n, last_as_found, last_as_left,"
    " last_service_movement, last_shop_reset, last_deviation_percent, drift_per_year, trend_p,"
    " out_of_tolerance_count, flags, reason",
)


@pytest.fixture
def stocked(plant):
    """One position of each status as of 2026-11-25, in two units."""
    days = ["2019-01-01", "2021-12-01", "2026-01-01", "2019-06-01", "", "", "2020-01-01"]
    plant.must(
        positions="site | tag | unit | set_pressure | tolerance | status\n" + "\n".join(
            f"Northmere | =T-{n} | {'Stills' if n < 4 else 'Boilers'} | 150 psig | asme8 | {status}"
            for n, status in enumerate(["", "", "", "", "", "", "", "", "removed"])
        ),
        devices="device | serial | kind\n" + "\n".join(
            f"D-{n} | @{n} | spring" for n in range(8)
        ),
        installations="tag | device | installed_on\n" + "\n".join(
            f"=T-{n} | D-{n} | 2018-01-01" for n in (0, 1, 2, 3, 5, 6, 7)
        ),
        obligations="tag | activity | rule\n" + "\n".join(
            f"=T-{n} | bench_test | {'by-history' if n == 6 else 'api510-process'}"
            for n in (0, 1, 2, 3, 4, 6, 7, 8)
        ),
        inspections="ref | tag | device | activity | done_on | done_by | verified_by |"
        " first_pop | as_left_pop\n" + "\n".join(
            f"I-{n} | | D-{n} | bench_test | {day} | Ann | Bo | 150 psig | 150 psig"
            for n, day in enumerate(days) if day
        ),
        deferrals="tag | activity | due_on | until_on | policy | reason | approved_by |"
        " approved_on\n=T-3 | bench_test | 2024-06-01 | 2027-01-01 | assessed | =1+1 | Eve |"
        " 2024-05-01",
        outages="name | units | starts_on | ends_on\n-Spring | Stills | 2026-12-01 | 2026-12-20\n"
        "Autumn | Stills | 2027-10-01 | 2027-10-20",
    )  # fmt: skip
    return plant


STATUS = {
    "=T-0": "overdue", "=T-1": "due_soon", "=T-2": "compliant", "=T-3": "overdue_deferred",
    "=T-4": "no_device", "=T-5": "no_obligation", "=T-6": "interval_not_set", "=T-7": "no_record",
    "=T-8": "not_required",
}  # fmt: skip


def test_one_row_an_obligation_and_one_for_what_nobody_listed(stocked):
    rows = stocked.due("2026-11-25")
    assert {row["tag"]: row["status"] for row in rows} == STATUS
    assert list(rows[0]) == DUE


def test_within_never_hides_what_cannot_be_seen_otherwise(stocked):
    rows = stocked.due("2026-11-25", "--within", "P1D")
    assert {r["tag"] for r in rows} >= {f"=T-{n}" for n in (0, 3, 4, 5, 6, 7)}
    assert not {r["tag"] for r in rows} & {"=T-1", "=T-2"}
    assert {r["tag"] for r in stocked.due("2026-11-25", "--within", "P6D")} >= {"=T-1"}
    assert "=T-1" not in {r["tag"] for r in stocked.due("2026-11-25", "--within", "P5D")}


def test_a_unit_and_a_site_alone(stocked):
    assert {r["unit"] for r in stocked.due("2026-11-25", "--unit", "Stills")} == {"Stills"}
    assert len(stocked.due("2026-11-25", "--site", "Northmere")) == 9


@pytest.mark.parametrize(
    "options",
    [("--site", "Nowhere"), ("--unit", "Nowhere"), ("--as-of", "tomorrow"), ("--within", "180"),
     ("--within", "six months"), ("--format", "pdf"), ("--as-of", "03/04/2025")],
)  # fmt: skip
def test_what_cannot_be_asked_fails(stocked, options):
    said = run("due_list", *options)
    assert said.failed and not said.out


def csv_rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


@pytest.mark.parametrize(("command", "columns"), [("due_list", DUE), ("settings_review", SETTINGS)])
def test_csv_and_json_say_the_same(stocked, command, columns):
    table = csv_rows(run(command, "--format", "csv").out)
    found = json.loads(run(command, "--format", "json").out)
    assert set(found) == {"rows", "summary"} and isinstance(found["summary"], dict)
    assert list(table[0]) == columns and len(table) == len(found["rows"])
    for line, row in zip(table, found["rows"], strict=True):
        assert list(row) == columns
        for name in columns:
            _is_same(name, line[name], row[name])


def _is_same(name, cell, value):
    if name == "flags":
        assert isinstance(value, list) and cell == ";".join(value)
    elif value is None:
        assert cell == ""
    else:
        assert isinstance(value, str | int) and value != ""
        assert cell in (str(value), f"'{value}")


def test_a_spreadsheet_runs_nothing_of_a_list(stocked):
    """OWASP, CSV injection: a leading apostrophe; numbers and quantities stay as they are."""
    row = next(r for r in csv_rows(run("due_list", "--format", "csv").out) if r["tag"] == "'=T-0")
    assert row["serial"] == "'@0" and row["next_outage"] == "'-Spring"
    assert row["days_left"] == "-1059"
    found = next(r for r in stocked.due("2026-11-25") if r["tag"] == "=T-0")
    assert (found["serial"], found["days_left"]) == ("@0", -1059)


def test_the_workbook_itself_is_never_altered(stocked):
    exported = stocked.export()
    assert b",=T-0," in exported["positions"] and b",@0," in exported["devices"]
    assert b",-Spring," in exported["outages"] and b",=1+1," in exported["deferrals"]


def test_outages_before_the_date_and_after_today(stocked):
    found = {r["tag"]: (r["last_outage_before_due"], r["next_outage"])
             for r in stocked.due("2026-11-25")}  # fmt: skip
    assert found["=T-1"] == ("-Spring", "-Spring")  # due 2026-12-01, the day it begins
    assert found["=T-2"] == ("Autumn", "-Spring")
    assert found["=T-4"][1] is None  # another unit


def test_the_table_is_fit_for_a_pipe(stocked):
    said = run("due_list")
    lines = said.out.splitlines()
    assert len(lines) == 11 and not said.err
    assert all(word in lines[0] for word in ("tag", "due_on", "status", "reason"))


def test_the_default_day_is_today(stocked):
    assert run("due_list", "--format", "json").out == run(
        "due_list", "--format", "json", "--as-of", "2026-11-25"
    ).out  # fmt: skip


def test_an_earlier_day_sees_nothing_later(stocked):
    found = {r["tag"]: (r["status"], r["device"]) for r in stocked.due("2017-12-31")}
    assert found["=T-0"] == ("no_device", None)
    assert {r["tag"]: r["status"] for r in stocked.due("2018-06-01")}["=T-0"] == "no_record"


def test_an_empty_database_answers_empty_lists(plant):
    for command in ("due_list", "settings_review"):
        assert json.loads(run(command, "--format", "json").out)["rows"] == []
        assert csv_rows(run(command, "--format", "csv").out) == []
    assert plant.export()["positions"].startswith(b"site,tag,unit,")


def test_the_proofs_hold(stocked):
    for command in ("verify_audit", "check_due_dates"):
        said = run(command)
        assert not said.failed and "0 differences" in said.out
        assert json.loads(run(command, "--format", "json").out)["rows"] == []


def test_the_settings_review_puts_what_is_flagged_first(stocked):
    stocked.must(
        inspections="""
        ref | device | activity | done_on | done_by | verified_by | first_pop | as_left_pop
        Z | D-6 | bench_test | 2025-01-01 | Ann | Bo | 170 psig | 150 psig
    """
    )
    rows = json.loads(run("settings_review", "--format", "json").out)["rows"]
    assert rows[0]["device"] == "D-6" and rows[0]["flags"] == [
        "moved_in_service",
        "out_of_tolerance",
    ]
    assert [bool(row["flags"]) for row in rows] == sorted(
        (bool(r["flags"]) for r in rows), reverse=True
    )
    assert rows[0]["tag"] == "=T-6" and rows[0]["last_deviation_percent"] == "13.33"
    assert rows[0]["unit"] == "%" and rows[0]["last_service_movement"] == "+13.33 %"
