"""Files as they come: spreadsheets, archives, and what is neither. Each is told, none hangs.

Checks are the workbook's own contract; spreadsheets are made by an independent writer.
"""

import io
import zipfile
from datetime import date, datetime, time

import pytest
import xlsxwriter

from tests.contract.plant import run

PLACES = [["site", "tag", "unit", "set_pressure"], ["N", "PSV-1", "U", "150 psig"]]
DEVICES = [["device", "kind", "serial"], ["D-1", "spring", "00123"]]
SPELLS = [["tag", "device", "installed_on"], ["PSV-1", "D-1", date(2020, 1, 10)]]


def xlsx(path, **sheets):
    """A workbook: texts as text, numbers, days and true as a spreadsheet keeps them."""
    with xlsxwriter.Workbook(str(path)) as book:
        formats = {date: "yyyy-mm-dd", datetime: "yyyy-mm-dd hh:mm", time: "hh:mm"}
        for name, rows in sheets.items():
            page = book.add_worksheet(name)
            for down, row in enumerate(rows):
                for across, cell in enumerate(row):
                    _cell(page, book, down, across, cell, formats)
    return path


def _cell(page, book, down, across, cell, formats):
    if isinstance(cell, bool):
        page.write_boolean(down, across, cell)
    elif isinstance(cell, int | float):
        page.write_number(down, across, cell)
    elif type(cell) in formats:
        kept = book.add_format({"num_format": formats[type(cell)]})
        page.write_datetime(down, across, cell, kept)
    elif cell.startswith("="):
        page.write_formula(down, across, cell)
    elif cell:
        page.write_string(down, across, cell)


def load(plant, **sheets):
    return plant.load_path(xlsx(plant.path().with_suffix(".xlsx"), **sheets))


def test_a_spreadsheet_loads_with_real_days_and_unit_headed_numbers(plant):
    places = [["site", "tag", "unit", "set_pressure [psig]"], ["N", "PSV-1", "U", 150]]
    said = load(plant, positions=places, devices=DEVICES, installations=SPELLS)
    assert not said.failed, said.rows
    exported = plant.export()
    assert b"150 psig" in exported["positions"] and b"2020-01-10" in exported["installations"]
    assert b",00123," in exported["devices"]


TURNED = {
    "a serial into a number": ({"devices": [DEVICES[0], ["D-1", "spring", 123]]},
                               "devices 2 serial"),
    "a device into a number": ({"devices": [DEVICES[0], [101, "spring", ""]]}, "devices 2 device"),
    "a tag into a number": ({"positions": [PLACES[0], ["N", 101, "U", "150 psig"]]},
                            "positions 2 tag"),
    "a fraction into a day": (
        {"devices": [["device", "kind", "seat_diameter"], ["D-1", "spring", date(2026, 5, 16)]]},
        "devices 2 seat_diameter"),
    "a serial into a day": ({"devices": [DEVICES[0], ["D-1", "spring", date(2026, 1, 2)]]},
                            "devices 2 serial"),
    "a note into true": ({"devices": [["device", "kind", "note"], ["D-1", "spring", True]]},
                         "devices 2 note"),
    "a day into a number": ({"positions": PLACES, "devices": DEVICES,
                             "installations": [SPELLS[0], ["PSV-1", "D-1", 43840]]},
                            "installations 2 installed_on"),
    "a pressure into a bare number": ({"positions": [PLACES[0], ["N", "PSV-1", "U", 150]]},
                                      "positions 2 set_pressure"),
    "a day with its time": ({"positions": PLACES, "devices": DEVICES,
                             "installations": [SPELLS[0], ["PSV-1", "D-1",
                                                           datetime(2020, 1, 10, 13, 30)]]},
                            "installations 2 installed_on"),
    "something into a time": ({"devices": [DEVICES[0], ["D-1", "spring", time(5, 16)]]},
                              "devices 2 serial"),
}  # fmt: skip


@pytest.mark.parametrize("name", TURNED)
def test_what_a_spreadsheet_has_turned_is_a_fault_that_says_so(plant, name):
    sheets, place = TURNED[name]
    said = load(plant, **sheets)
    assert said.failed and said.faults == [place], said.rows


def test_a_formula_is_named(plant):
    said = load(plant, positions=[PLACES[0], ["N", '="PSV-"&1', "U", "150 psig"]])
    assert said.failed and "B2" in said.rows[0]["column"] and "formula" in said.rows[0]["expected"]


def test_a_far_cell_is_named(plant):
    path = plant.path().with_suffix(".xlsx")
    with xlsxwriter.Workbook(str(path)) as book:
        page = book.add_worksheet("positions")
        page.write_row(0, 0, PLACES[0])
        page.write_string(1_048_575, 16_383, "x")
    said = plant.load_path(path)
    assert said.failed and "XFD1048576" in said.rows[0]["column"]


def test_a_bomb_is_not_unpacked(plant):
    path = plant.path().with_suffix(".zip")
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("positions.csv", b"site,tag\n" + b" " * 100_000_000)
    assert "unpacks to far more" in plant.load_path(path).rows[0]["expected"]


def test_a_zip_and_a_single_file_load_as_well(plant):
    path = plant.path().with_suffix(".zip")
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("book/positions.csv", "site,tag,unit,set_pressure\nN,PSV-1,U,150 psig\n")
        archive.writestr("__MACOSX/book/._positions.csv", b"\x00\x05")
    assert not plant.load_path(path).failed
    assert len(plant.due("2026-01-01")) == 1
    single = plant.path("devices").parent / "devices.csv"
    single.write_bytes("\N{BYTE ORDER MARK}device,kind\r\nD-1,spring\r\n".encode())
    assert not plant.load_path(single).failed
    assert b"D-1" in plant.export()["devices"]


WRONG = {
    "a picture": ("a.png", b"\x89PNG\r\n\x1a\n" + b"0" * 50),
    "an old workbook": ("a.xls", b"\xd0\xcf\x11\xe0" + b"0" * 50),
    "an empty file": ("a.xlsx", b""),
    "half a workbook": ("a.xlsx", b"PK\x03\x04" + b"0" * 50),
    "a text": ("a.txt", b"site,tag\n"),
    "an empty csv": ("positions.csv", b""),
    "another alphabet": ("positions.csv", "site,tag\nN,Größe".encode("latin-1")),
    "an open quote": ("positions.csv", b'site,tag,unit,set_pressure\nN,"PSV-1,U,1 psig\n'),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_what_is_no_workbook_is_told(plant, name):
    file, content = WRONG[name]
    path = plant.folder / file
    path.write_bytes(content)
    said = plant.load_path(path)
    assert said.failed and said.rows and said.rows[0]["severity"] == "fault", said.err


def test_a_workbook_without_a_known_sheet(plant):
    said = load(plant, Sheet1=[["a"], ["b"]])
    assert said.failed and "Sheet1" in {
        row["typed"] for row in said.rows if row["severity"] == "fault"
    }


def test_an_empty_workbook(plant):
    assert load(plant, positions=[]).failed
    said = load(plant, positions=[PLACES[0]])
    assert not said.failed and "nothing to change" in said.out


def test_a_csv_file_of_sixty_megabytes(plant):
    """Refused or read, but answered: here a note of 60 MB in one cell."""
    folder = plant.path()
    folder.mkdir()
    big = "x" * 60_000_000
    (folder / "positions.csv").write_text(
        f"site,tag,unit,set_pressure,note\nN,PSV-1,U,150 psig,{big}\n"
    )
    said = plant.load_path(folder)
    assert said.failed and len(said.rows[0]["typed"]) < 1000


def test_a_cell_too_long_for_its_column_is_a_fault(plant):
    said = load(plant, positions=[PLACES[0], ["N", "T" * 5000, "U", "150 psig"]])
    assert said.faults == ["positions 2 tag"] and len(said.rows[0]["typed"]) < 100


def test_true_day_cells_of_both_calendars(plant):
    """A workbook may count its days from 1904; the day is what its reader sees."""
    path = plant.path().with_suffix(".xlsx")
    with xlsxwriter.Workbook(str(path), {"date_1904": True}) as book:
        for name, rows in {
            "positions": PLACES,
            "devices": DEVICES,
            "installations": SPELLS,
        }.items():
            page = book.add_worksheet(name)
            for down, row in enumerate(rows):
                for across, cell in enumerate(row):
                    _cell(page, book, down, across, cell, {date: "yyyy-mm-dd"})
    assert not plant.load_path(path).failed
    assert b"2020-01-10" in plant.export()["installations"]


def test_the_spreadsheet_that_is_written_loads_again_and_says_the_same(plant):
    sheets = {
        "positions": [PLACES[0] + ["note"], PLACES[1] + ["two lines\nof 5/16 in, “quoted”"]],
        "devices": DEVICES, "installations": SPELLS,
    }  # fmt: skip
    assert not load(plant, **sheets).failed
    before = plant.export()
    path = plant.path().with_suffix(".xlsx")
    assert not run("export_workbook", str(path)).failed
    said = plant.load_path(path)
    assert not said.failed and "nothing to change" in said.out
    assert plant.export() == before


def test_the_same_register_gives_the_same_zip(plant):
    load(plant, positions=PLACES, devices=DEVICES, installations=SPELLS)
    paths = [plant.path().with_suffix(".zip") for _ in range(2)]
    for path in paths:
        assert not run("export_workbook", str(path)).failed
    assert paths[0].read_bytes() == paths[1].read_bytes()
    names = zipfile.ZipFile(io.BytesIO(paths[0].read_bytes())).namelist()
    assert "positions.csv" in names and "settings.csv" in names
