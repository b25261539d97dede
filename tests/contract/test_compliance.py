"""The auditor's list, from a workbook to `compliance_list`.

Checks are the workbook's own contract unless they name another source.
"""

import csv
import io
import json
import re
from datetime import date

import pytest

from tests.contract.plant import run

COLUMNS = re.split(
    " ",
    "as_of site unit tag device serial kind equipment set_pressure activity rule source interval"
    " interval_basis last_done_on ref done_by verified_by description result opened_at reseated_at"
    " disposition due_on status deferred_until deferral_policy deferral_approved_by open_questions"
    " late_entry",
)
POSITIONS = """
    site | tag | unit | equipment | set_pressure | tolerance
    Northmere | PSV-1 | Stills | V-1 | 150 psig | asme8
    Northmere | PSV-2 | Stills | | 10.3 barg | asme8
"""
RECORD = (
    "ref | device | activity | done_on | done_by | verified_by | medium | first_pop | as_left_pop |"
    " reseat | typed_deviation | disposition\n"
)


def listed(*options: str) -> list[dict]:
    said = run("compliance_list", *options, "--format", "json")
    assert not said.failed, said.err
    return json.loads(said.out)["rows"]


def row_of(tag: str, *options: str) -> dict:
    return next(row for row in listed(*options) if row["tag"] == tag)


@pytest.fixture
def stocked(plant):
    plant.must(
        positions=POSITIONS, devices="device | serial | kind\nD-1 | 00123 | bellows",
        installations="tag | device | installed_on\nPSV-1 | D-1 | 2015-01-01",
        obligations="tag | activity | rule\nPSV-1 | bench_test | api510-process",
        inspections=RECORD + "I-1 | D-1 | overhaul | 2019-05-02 | Ann Lowe | Bo Marsh | air |"
        " 160 psig | 150 psig | 140 psig | -1 % | ",
        deferrals="tag | activity | due_on | until_on | policy | reason | document | notified_on |"
        " approved_by | approved_on\nPSV-1 | bench_test | 2024-05-02 | 2024-11-01 |"
        " single_postponement | x | D-1 | 2024-03-28 | Eve | 2024-04-01",
    )  # fmt: skip
    return plant


def test_each_test_says_what_the_law_asks(stocked):
    """29 CFR 1910.119(j)(4)(iv): date, person, serial number, description, result;
    49 CFR 180.417(b): type of device, set, opened at, reseated at, disposition."""
    row = row_of("PSV-1", "--as-of", "2020-01-01")
    assert list(row) == COLUMNS
    expected = {
        "as_of": "2020-01-01", "site": "Northmere", "unit": "Stills", "device": "D-1",
        "serial": "00123", "kind": "bellows", "equipment": "V-1", "set_pressure": "150 psig",
        "activity": "bench_test", "rule": "api510-process", "last_done_on": "2019-05-02",
        "ref": "I-1", "done_by": "Ann Lowe", "verified_by": "Bo Marsh", "opened_at": "160 psig",
        "reseated_at": "140 psig", "disposition": "repaired", "due_on": "2024-05-02",
        "status": "compliant", "deferred_until": None, "deferral_policy": None,
        "deferral_approved_by": None, "open_questions": 1, "late_entry": "no",
    }  # fmt: skip
    assert {name: row[name] for name in expected} == expected
    assert "opened high" in row["result"] and "6.67 %" in row["result"]
    assert "API 510" in row["source"] and "overhaul" in row["description"]


def test_a_deferral_is_on_the_list_with_who_approved_it(stocked):
    row = row_of("PSV-1", "--as-of", "2024-06-01")
    names = ("status", "deferred_until", "deferral_policy", "deferral_approved_by")
    assert [row[name] for name in names] == [
        "overdue_deferred", "2024-11-01", "single_postponement", "Eve"
    ]  # fmt: skip
    assert row_of("PSV-1", "--as-of", "2024-11-02")["status"] == "overdue"


def test_what_has_no_device_or_nothing_owed_is_a_row(stocked):
    assert row_of("PSV-2", "--as-of", "2024-06-01")["status"] == "no_device"


def test_statuses_are_those_of_the_due_list(stocked):
    for day in ("2014-12-31", "2016-01-01", "2019-05-02", "2024-06-01", "2026-11-25"):
        due = {(r["tag"], r["activity"]): (r["status"], r["due_on"]) for r in stocked.due(day)}
        found = {(r["tag"], r["activity"]): (r["status"], r["due_on"])
                 for r in listed("--as-of", day)}  # fmt: skip
        assert found == due


def test_csv_and_json_say_the_same(stocked):
    said = run("compliance_list", "--as-of", "2024-06-01")
    table = list(csv.DictReader(io.StringIO(said.out, newline="")))
    assert list(table[0]) == COLUMNS and not said.err
    for line, row in zip(table, listed("--as-of", "2024-06-01"), strict=True):
        assert line == {name: "" if v is None else str(v) for name, v in row.items()}


@pytest.mark.parametrize(("kind", "start"), [("xlsx", b"PK"), ("pdf", b"%PDF"), ("csv", b"as_of,")])
def test_it_is_written_to_a_file(stocked, kind, start):
    path = stocked.path("list").with_suffix(f".{kind}")
    said = run("compliance_list", "--as-of", "2024-06-01", "--format", kind, "--out", str(path))
    assert not said.failed and path.read_bytes().startswith(start) and not said.out


@pytest.mark.parametrize("options", [(), ("--as-of", "soon"), ("--as-of", "2027-01-01"),
                                     ("--as-of", "2024-01-01", "--format", "pdf"),
                                     ("--as-of", "2024-01-01", "--site", "Nowhere")])  # fmt: skip
def test_what_cannot_be_asked_fails(stocked, options):
    said = run("compliance_list", *options)
    assert said.failed and not said.out


def test_as_it_was_known_then_and_as_it_is_known_now(plant, settings):
    """What was written down in March 2026 about January was not known in February."""
    settings.FIXED_TODAY = date(2025, 12, 1)
    plant.must(
        positions=POSITIONS, devices="device | kind\nD-1 | spring",
        installations="tag | device | installed_on\nPSV-1 | D-1 | 2015-01-01",
        obligations="tag | activity | rule\nPSV-1 | bench_test | api510-process",
        inspections=RECORD + "I-1 | D-1 | bench_test | 2019-05-02 | Ann | Bo | | | 150 psig | | |",
    )  # fmt: skip
    settings.FIXED_TODAY = date(2026, 3, 31)
    plant.must(inspections=RECORD + "I-2 | D-1 | bench_test | 2026-01-15 | Ann | Bo | | | 150 psig"
               " | | |")  # fmt: skip
    settings.FIXED_TODAY = date(2026, 11, 25)
    day = ("--as-of", "2026-02-01")
    then, now = row_of("PSV-1", *day, "--as-known-on", "2026-02-01"), row_of("PSV-1", *day)
    assert (then["ref"], then["status"], then["late_entry"]) == ("I-1", "overdue", "no")
    assert (now["ref"], now["status"], now["late_entry"]) == ("I-2", "compliant", "yes")
    assert row_of("PSV-1", *day, "--as-known-on", "2026-03-31")["ref"] == "I-2"
    assert row_of("PSV-1", *day, "--as-known-on", "2026-03-30")["ref"] == "I-1"
