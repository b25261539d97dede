"""What people send: the right files open, the wrong ones are refused in clear words."""

import io
import zipfile
from contextlib import ExitStack
from datetime import datetime

import pytest
import xlsxwriter

from fleet.exchange import guard
from fleet.exchange.reader import open_source
from fleet.faults import Refused

XML = '<?xml version="1.0" encoding="UTF-8"?>'
WORKSHEET = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


def opened(path):
    with ExitStack() as stack:
        return {s.name: (s.header, list(s.rows)) for s in open_source(path, stack)}


def refusal(path):
    with pytest.raises(Refused) as caught:
        opened(path)
    return caught.value.faults


def workbook(path, fill):
    with xlsxwriter.Workbook(str(path)) as book:
        fill(book)
    return path


def with_sheet(path, xml):
    """An .xlsx whose only sheet holds this XML instead of its own."""
    workbook(path, lambda book: book.add_worksheet("positions").write_string(0, 0, "tag"))
    parts = {}
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts["xl/worksheets/sheet1.xml"] = xml.encode()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return path


def sheet_xml(cells, extra=""):
    return f'{XML}{extra}<worksheet xmlns="{WORKSHEET}"><sheetData>{cells}</sheetData></worksheet>'


def test_a_folder_of_csv(tmp_path):
    (tmp_path / "positions.csv").write_text("tag,unit\nPSV-1,Stills\n\nPSV-2,\n", "utf-8-sig")
    assert opened(tmp_path) == {
        "positions": (["tag", "unit"], [(2, ["PSV-1", "Stills"]), (3, []), (4, ["PSV-2", ""])])
    }


def test_a_zip_of_csv_in_a_folder(tmp_path):
    path = tmp_path / "book.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("book/positions.csv", "tag\nPSV-1\n")
        archive.writestr("__MACOSX/book/._positions.csv", "rubbish")
    assert opened(path)["positions"] == (["tag"], [(2, ["PSV-1"])])


def test_a_workbook_keeps_text_numbers_dates_and_blank_edges(tmp_path):
    def fill(book):
        sheet = book.add_worksheet("devices")
        sheet.write_row(0, 1, ["device", "serial"])
        sheet.write_string(2, 1, "D-1")
        sheet.write_number(2, 2, 123)
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        sheet.write_datetime(3, 1, datetime(2026, 5, 16), day)

    found = opened(workbook(tmp_path / "a.xlsx", fill))["devices"]
    assert found == (
        ["", "device", "serial"],
        [(2, ["", "", ""]), (3, ["", "D-1", 123.0]), (4, ["", {"date": "2026-05-16"}, ""])],
    )


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.xlsx", b"", "is empty"),
        ("a.xlsx", b"hello", "another type"),
        ("a.pdf", b"%PDF-1.7", "another type"),
        ("a.xls", b"\xd0\xcf\x11\xe0rest", "old or password-protected"),
        ("a.xlsx", b"PK\x03\x04broken", "not a whole zip"),
        ("positions.csv", b"tag\n\xff\xfe\n", "not UTF-8"),
        ("positions.csv", b'tag\n"open\n', "comma-separated"),
    ],
)
def test_the_wrong_file_is_refused_in_words(tmp_path, name, content, words):
    path = tmp_path / name
    path.write_bytes(content)
    assert words in str(refusal(path)[0])


def test_a_missing_file_and_an_empty_folder(tmp_path):
    assert "is not there" in str(refusal(tmp_path / "none.xlsx")[0])
    assert "no sheet" in str(refusal(tmp_path)[0])


def test_an_empty_workbook(tmp_path):
    path = workbook(tmp_path / "a.xlsx", lambda book: book.add_worksheet("positions"))
    assert "no sheet" in str(refusal(path)[0])


def test_formulas_are_named_cell_by_cell(tmp_path):
    def fill(book):
        sheet = book.add_worksheet("positions")
        sheet.write_string(0, 0, "tag")
        sheet.write_formula(1, 0, '="PSV-"&1')
        sheet.write_formula(4, 2, "=1+1")

    faults = refusal(workbook(tmp_path / "a.xlsx", fill))
    assert [(f.field, f.code) for f in faults] == [("A2", "formula"), ("C5", "formula")]


def test_an_error_cell_is_not_an_empty_one(tmp_path):
    cells = '<row r="1"><c r="A1" t="e"><v>#N/A</v></c></row>'
    assert [f.code for f in refusal(with_sheet(tmp_path / "a.xlsx", sheet_xml(cells)))] == [
        "error_cell"
    ]


@pytest.mark.parametrize("cell", ["XFD1048576", "A1048577", "GS1", "GR1048576"])
def test_a_far_cell_is_refused_before_anything_lays_it_out(tmp_path, cell):
    row = "".join(filter(str.isdigit, cell))
    cells = f'<row r="{row}"><c r="{cell}"><v>1</v></c></row>'
    faults = refusal(with_sheet(tmp_path / "a.xlsx", sheet_xml(cells)))
    assert [(f.field, f.code) for f in faults] == [(cell, "far_cell")]


def test_a_far_cell_in_other_spelling(tmp_path):
    cells = "<x:row r='9'><x:c s='1' r = 'XFD1048576'><x:v>1</x:v></x:c></x:row>"
    assert refusal(with_sheet(tmp_path / "a.xlsx", sheet_xml(cells)))[0].code == "far_cell"


def test_a_document_type_is_refused(tmp_path):
    xml = sheet_xml("", '<!DOCTYPE x [<!ENTITY a "b">]>')
    assert "document type" in str(refusal(with_sheet(tmp_path / "a.xlsx", xml))[0])


def test_another_encoding_is_refused(tmp_path):
    xml = sheet_xml("").replace("UTF-8", "UTF-7")
    assert "UTF-8" in str(refusal(with_sheet(tmp_path / "a.xlsx", xml))[0])


def test_a_zip_bomb_is_refused(tmp_path):
    path = tmp_path / "bomb.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("positions.csv", b"0" * (guard.RATIO_BYTES + 1))
    assert "far more than a table" in str(refusal(path)[0])


def test_a_part_that_lies_about_its_size_is_refused(tmp_path):
    """The directory says ten bytes; the data say a million."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("positions.csv", b"tag\n" + b"x\n" * 500_000)
    content = bytearray(buffer.getvalue())
    size = (1_000_004).to_bytes(4, "little")
    path = tmp_path / "liar.zip"
    path.write_bytes(bytes(content).replace(size, (10).to_bytes(4, "little")))
    assert refusal(path)


def test_too_many_parts_are_refused(tmp_path):
    path = tmp_path / "many.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for number in range(guard.MEMBERS + 1):
            archive.writestr(f"{number}.csv", "")
    assert "parts" in str(refusal(path)[0])


def test_a_cell_that_ends_a_chunk_is_still_seen(tmp_path, monkeypatch):
    monkeypatch.setattr(guard, "CHUNK", 64)
    filler = "".join(f'<row r="{n}"><c r="A{n}"><v>{n}</v></c></row>' for n in range(1, 60))
    cells = filler + '<row r="60"><c r="B60"><f>1+1</f><v>2</v></c></row>'
    faults = refusal(with_sheet(tmp_path / "a.xlsx", sheet_xml(cells)))
    assert [(f.field, f.code) for f in faults] == [("B60", "formula")]
