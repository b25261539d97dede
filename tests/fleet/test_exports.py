"""Lists as files: text a spreadsheet would run is neutralised, numbers and quantities never."""

import csv
import io
import json
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from fleet import exports

COLUMNS = ("tag", "value", "on", "flags")


@pytest.mark.parametrize(
    "typed",
    # OWASP, "CSV Injection": cells that begin with these are run by spreadsheets
    ["=1+1", "+1+1", "-1+1", "@SUM(A1)", '=HYPERLINK("x")', "\t=1", "\r=1", "-", "+cmd|' /C calc'"],
)
def test_text_that_a_spreadsheet_would_run_gets_an_apostrophe(typed):
    assert exports.cell(typed) == f"'{typed}"


@pytest.mark.parametrize(
    "typed", ["-41", "+4", "-1.5", "-5/16 in", "-7 notches", "-0.5 kPag", "+1 3/8 in", "-3 %"]
)
def test_numbers_and_quantities_are_left_as_they_are(typed):
    assert exports.cell(typed) == typed


@pytest.mark.parametrize("typed", ["PSV-1", "a=b", "1-2", "", "mild", "'quoted"])
def test_other_text_is_left_as_it_is(typed):
    assert exports.cell(typed) == (typed or None)


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (date(2026, 10, 31), "2026-10-31"),
        (Decimal("12.50"), "12.50"),
        (None, None),
        (True, "yes"),
        (-41, -41),
        (["moved_in_service", "sticking"], "moved_in_service;sticking"),
        ((), ""),
    ],
)
def test_a_value_has_one_way_to_be_written(value, shown):
    assert exports.cell(value) == shown


ROW = {"tag": 'Größe, "x"\n2', "value": Decimal("1.10"), "on": date(2026, 1, 2), "flags": ["a"]}


def test_csv_reads_back_as_it_was():
    text = "".join(exports.csv_lines(COLUMNS, [ROW]))
    [row] = csv.DictReader(io.StringIO(text, newline=""))
    assert row == {"tag": ROW["tag"], "value": "1.10", "on": "2026-01-02", "flags": "a"}


def test_json_keeps_the_digits_and_the_list_and_says_null_for_nothing():
    text = "".join(exports.json_pieces((*COLUMNS, "gone"), [ROW, ROW], {"rows": 2}))
    said = json.loads(text)
    assert said["summary"] == {"rows": 2}
    assert said["rows"][1]["value"] == "1.10" and said["rows"][1]["flags"] == ["a"]
    assert said["rows"][0]["gone"] is None


def test_json_of_no_rows_is_still_one_object():
    assert json.loads("".join(exports.json_pieces(COLUMNS, [], {}))) == {"rows": [], "summary": {}}


def test_a_workbook_holds_text_as_text_and_whole_numbers_as_numbers():
    file = io.BytesIO()
    rows = [{**ROW, "tag": "=1+1"}, {**ROW, "value": -41, "tag": "https://example.org"}]
    exports.write_xlsx(file, COLUMNS, rows, title="list")
    sheet = load_workbook(file).active
    cells = [[cell.value for cell in line] for line in sheet.rows]
    assert cells[0] == list(COLUMNS)
    assert cells[1] == ["'=1+1", "1.10", "2026-01-02", "a"]
    assert cells[2][1] == -41
    assert sheet["A3"].hyperlink is None and sheet["A2"].data_type == "s"


def test_a_long_list_is_handed_over_in_pieces():
    pieces = list(exports.csv_lines(("n",), ({"n": n} for n in range(1200))))
    assert len(pieces) == 3
    assert "".join(pieces).count("\n") == 1201


def test_a_table_for_a_terminal_lines_up():
    lines = list(exports.table_lines(("tag", "n"), [{"tag": "PSV-2107B", "n": 1}, {"tag": "A"}]))
    assert lines == ["tag        n", "---------  -", "PSV-2107B  1", "A"]


@given(st.text(max_size=40))
def test_no_text_comes_out_as_something_a_spreadsheet_runs(text):
    shown = exports.cell(text)
    assert shown is None or not str(shown).startswith(("=", "@", "\t", "\r"))
