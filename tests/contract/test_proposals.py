"""Proposals, from a workbook to the lists: raised by what was found, closed by nobody but a person.

As-found cases are published ones (public US plant event reports, named beside each); the set
pressure is entered as the test pressure, the band is +/-3 % where the report says so.
"""

import json
from datetime import date

import pypdf
import pytest

from fleet.models import Proposal
from tests.contract.plant import run

HEADS = (
    "ref | device | activity | done_on | done_by | verified_by | first_pop | first_pop_result |"
    " later_pops | no_lift_at | waived_reason | as_left_pop | disposition | corrects\n"
)
BAND = "id | low | high | basis | citation\nthree | -3 % | 3 % | gauge | the report: +/-3 %"


def record(ref, day, found="", *, result="", later="", no_lift="", waived="", left="1175 psig",
           disposition="repaired", corrects="", device="D-1", activity="bench_test"):  # fmt: skip
    cells = (ref, device, activity, day, "Ann", "Bo", found, result, later, no_lift, waived, left,
             disposition, corrects)  # fmt: skip
    return " | ".join(cells)


def records(*rows):
    return HEADS + "\n".join(rows)


def stocked(plant, *, set_pressure="1175 psig", obligations="", **sheets):
    plant.must(
        tolerances=BAND,
        positions=f"site | tag | unit | set_pressure | fluid | tolerance\n"
        f"Northmere | PSV-1 | Stills | {set_pressure} | steam | three",
        devices="device | kind\nD-1 | spring\nD-2 | spring",
        installations="tag | device | installed_on\nPSV-1 | D-1 | 1999-01-01",
        obligations=obligations or "tag | activity | rule\nPSV-1 | bench_test | api510-process",
        **sheets,
    )  # fmt: skip
    return plant


@pytest.fixture
def valve(plant):
    """In its second year here: what comes now is no first load."""
    return stocked(plant, inspections=records(record("OLD", "2020-03-01", "1175 psig")))


def proposed(plant, day, activity="bench_test", tag="PSV-1"):
    return plant.due_of(tag, day, activity)["open_proposal"]


def test_a_first_pop_outside_the_band_is_proposed_and_ages(valve):
    """LER 388/2009-001, serial ..0085: set 1175 psig, first pop 1123 psig, -4.43 %, +/-3 %."""
    valve.must(inspections=records(record("A", "2024-03-01", "1123 psig")))
    assert proposed(valve, "2024-02-29") is None
    assert proposed(valve, "2024-03-01") == "as-received failure, open 0 days"
    assert proposed(valve, "2024-03-02") == "as-received failure, open 1 day"
    assert proposed(valve, "2024-04-11") == "as-received failure, open 41 days"
    assert valve.due_of("PSV-1", "2024-04-11")["due_on"] == "2029-03-01"  # nothing by itself


def test_a_good_one_later_does_not_close_it(valve):
    valve.must(inspections=records(record("A", "2024-03-01", "1123 psig")))
    valve.must(inspections=records(record("B", "2024-05-01", "1175 psig")))
    assert proposed(valve, "2024-05-02") == "as-received failure, open 62 days"


def test_a_second_pop_in_tolerance_erases_nothing(plant):
    """LER 311/2008-001: set 2485 psig; pop 1 at 2402, -3.34 %; pop 2 at 2440, -1.81 %."""
    stocked(plant, set_pressure="2485 psig", inspections=records(
        record("A", "2008-10-01", "2402 psig", later="2440 psig", left="2485 psig")))  # fmt: skip
    assert proposed(plant, "2008-10-02") == "as-received failure, open 1 day"


def test_a_first_pop_in_tolerance_proposes_nothing(plant):
    """LER 335/2002-001, V8209: set 1025.3 psig, first pop 1034.7 psig, 0.92 %: passed."""
    stocked(plant, set_pressure="1025.3 psig", inspections=records(
        record("A", "2002-04-01", "1034.7 psig", left="1025.3 psig")))  # fmt: skip
    assert proposed(plant, "2002-04-02") is None


@pytest.mark.parametrize("found", [
    {"no_lift": "1246 psig"},  # NRC IN 96-03: "greater than +6.1 %", a right-censored value
    {"result": "no_lift"},
    {"found": "1175 psig", "result": "stuck_open"},
])  # fmt: skip
def test_no_lift_and_stuck_open_are_failures(valve, found):
    """API RP 576 6.2.9: stuck shut, stuck open."""
    valve.must(inspections=records(record("A", "2024-03-01", **found)))
    assert proposed(valve, "2024-03-01") == "as-received failure, open 0 days"


def test_a_waived_test_is_proposed(valve):
    """API RP 576 6.2.9: too fouled to pop, the test may be waived; then the interval shortens."""
    valve.must(inspections=records(record("A", "2024-03-01", waived="too fouled to pop")))
    assert proposed(valve, "2024-03-31") == "waived test, open 30 days"


def test_two_failures_in_a_row_are_one_graver_cause(valve):
    """LER 388/2009-001: 1123 of 1175 psig, -4.43 %; the one after it is invented."""
    valve.must(inspections=records(record("A", "2024-03-01", "1123 psig")))
    valve.must(inspections=records(record("B", "2025-03-01", "1108.7 psig")))
    assert proposed(valve, "2025-03-01") == "as-received failure, open 365 days, +1 more"
    rows = [row for row in proposals() if row.source == "B"]
    assert [row.kind for row in rows] == ["repeated_failure"]
    assert "the time before, 2024-03-01 (A), opened at 1123 psig, -4.43 %" in rows[0].reason


def proposals():
    return list(Proposal.objects.order_by("raised_on", "pk"))


def test_a_scrapped_device_sets_no_clock_and_is_proposed_all_the_same(valve):
    said = valve.must(
        inspections=records(record("A", "2024-03-01", "1123 psig", left="", disposition="scrapped"))
    )
    assert said.notes == ["inspections 2 disposition"]
    row = valve.due_of("PSV-1", "2024-03-01")
    assert (row["last_done_on"], row["due_on"]) == ("2020-03-01", "2025-03-01")
    assert row["open_proposal"] == "as-received failure, open 0 days"


def test_a_correction_that_gives_no_cause_withdraws_it(valve):
    valve.must(inspections=records(record("A", "2024-03-01", "1123 psig")))
    valve.must(inspections=records(record("A2", "2024-03-01", "1173 psig", corrects="A")))
    assert proposed(valve, "2024-03-01") is None
    assert proposed(valve, "2024-06-01") is None


def test_a_correction_that_still_fails_leaves_it_open_once(valve):
    valve.must(inspections=records(record("A", "2024-03-01", "1123 psig")))
    valve.must(inspections=records(record("A2", "2024-03-01", "1120 psig", corrects="A")))
    assert proposed(valve, "2024-03-11") == "as-received failure, open 10 days"


def test_a_correction_that_fails_where_the_first_did_not_proposes(valve):
    valve.must(inspections=records(record("A", "2024-03-01", "1173 psig")))
    valve.must(inspections=records(record("A2", "2024-03-01", "1123 psig", corrects="A")))
    assert proposed(valve, "2024-03-11") == "as-received failure, open 10 days"


def test_loading_twice_proposes_once(valve):
    book = {"inspections": records(record("A", "2024-03-01", "1123 psig"))}
    valve.must(**book)
    assert not valve.must(**book).rows
    assert proposed(valve, "2024-03-11") == "as-received failure, open 10 days"


def test_a_first_load_proposes_only_what_was_found_last(plant):
    """Years that were lived through: later tests answered the earlier ones."""
    first, last = record("A", "2010-03-01", "1123 psig"), record("B", "2015-03-01", "1173 psig")
    stocked(plant, inspections=records(first, last))
    assert proposed(plant, "2026-01-01") is None


def test_a_first_load_proposes_the_second_failure_in_a_row(plant):
    first, last = record("A", "2010-03-01", "1123 psig"), record("B", "2015-03-01", "1123 psig")
    stocked(plant, inspections=records(first, last))
    assert proposed(plant, "2015-03-02") == "repeated failure, open 1 day"
    assert proposed(plant, "2012-01-01") is None


def test_a_correction_of_what_was_lived_through_proposes_nothing_new(plant):
    first, last = record("A", "2010-03-01", "1123 psig"), record("B", "2015-03-01", "1173 psig")
    stocked(plant, inspections=records(first, last))
    plant.must(inspections=records(record("A2", "2010-03-01", "1122 psig", corrects="A")))
    assert proposed(plant, "2026-01-01") is None
    plant.must(inspections=records(record("B2", "2015-03-01", "1123 psig", corrects="B")))
    assert proposed(plant, "2015-03-02") == "repeated failure, open 1 day"


def test_a_correction_in_the_first_load_is_what_was_found_last(plant):
    wrong = record("A", "2015-03-01", "1123 psig")
    stocked(
        plant, inspections=records(wrong, record("A2", "2015-03-01", "1173 psig", corrects="A"))
    )
    assert proposed(plant, "2026-01-01") is None


def test_a_decision_since_has_answered_what_a_first_load_brings(plant):
    stocked(
        plant, inspections=records(record("A", "2015-03-01", "1123 psig")),
        decisions="tag | activity | from_on | interval | reason | decided_by\n"
        "PSV-1 | bench_test | 2015-04-01 | P3Y | opened low | Eve",
    )  # fmt: skip
    assert proposed(plant, "2016-01-01") is None


def test_it_stands_on_the_lines_of_tests_and_overhauls_only(plant):
    stocked(
        plant,
        obligations="tag | activity | rule\nPSV-1 | bench_test | api510-process\n"
        "PSV-1 | overhaul | api510-clean\nPSV-1 | visual | us-49cfr180.407-visual",
        inspections=records(record("A", "2024-03-01", "1123 psig")),
    )  # fmt: skip
    found = {row["activity"]: row["open_proposal"] for row in plant.due("2024-03-02")}
    said = "as-received failure, open 1 day"
    assert found == {"bench_test": said, "overhaul": said, "visual": None}


def test_it_stands_on_every_line_where_no_test_is_owed(plant):
    stocked(
        plant, obligations="tag | activity | rule\nPSV-1 | visual | us-49cfr180.407-visual",
        inspections=records(record("A", "2024-03-01", "1123 psig")),
    )  # fmt: skip
    assert proposed(plant, "2024-03-02", "visual") == "as-received failure, open 1 day"


def test_it_stands_where_nothing_is_owed_at_all(plant):
    plant.must(
        tolerances=BAND,
        positions="site | tag | unit | set_pressure | tolerance\n"
        "Northmere | PSV-1 | Stills | 1175 psig | three",
        devices="device | kind\nD-1 | spring",
        installations="tag | device | installed_on\nPSV-1 | D-1 | 1999-01-01",
        inspections=records(record("A", "2024-03-01", "1123 psig")),
    )  # fmt: skip
    assert proposed(plant, "2024-03-02", "") == "as-received failure, open 1 day"


def test_it_belongs_to_the_position_it_served_not_where_the_device_is_now(valve):
    valve.must(
        positions="site | tag | unit | set_pressure | tolerance\n"
        "Northmere | PSV-2 | Stills | 1175 psig | three",
        installations="tag | device | installed_on | removed_on\nPSV-1 | D-1 | 1999-01-01 |"
        " 2024-02-01\nPSV-2 | D-1 | 2024-04-01 |",
        obligations="tag | activity | rule\nPSV-2 | bench_test | api510-process",
        inspections=records(record("A", "2024-03-01", "1123 psig")),
    )  # fmt: skip
    assert proposed(valve, "2024-05-01") == "as-received failure, open 61 days"
    assert proposed(valve, "2024-05-01", tag="PSV-2") is None


def test_the_compliance_list_says_it_on_paper_and_keeps_its_columns(valve):
    valve.must(inspections=records(record("A", "2024-03-01", "1123 psig")))
    assert "as-received failure, open 41 days" in paper(valve, "--as-of", "2024-04-11")
    rows = run("compliance_list", "--as-of", "2024-04-11", "--format", "json").out
    assert "open_proposal" not in json.loads(rows)["rows"][0]


def paper(plant, *options):
    """The words of the list as a PDF, read by another program."""
    path = plant.path("list").with_suffix(".pdf")
    assert not run("compliance_list", *options, "--format", "pdf", "--out", str(path)).failed
    words = "".join(page.extract_text() for page in pypdf.PdfReader(path).pages)
    return " ".join(words.split())


def test_as_it_was_known_then(valve, settings):
    """What was withdrawn since was open on the list as it was known."""
    settings.FIXED_TODAY = date(2026, 11, 26)
    valve.must(inspections=records(record("A", "2026-11-25", "1123 psig")))
    settings.FIXED_TODAY = date(2026, 11, 28)
    valve.must(inspections=records(record("A2", "2026-11-25", "1173 psig", corrects="A")))
    said = [
        "as-received failure" in paper(valve, "--as-of", "2026-11-25", "--as-known-on", known)
        for known in ("2026-11-25", "2026-11-26", "2026-11-28")
    ]
    assert said == [False, True, False]
