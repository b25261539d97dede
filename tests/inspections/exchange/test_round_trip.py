"""Out, in again, and out: the same bytes, dated history included."""

import csv
import io
import zipfile
from pathlib import Path

import openpyxl
import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import connection

from fleet import locks
from fleet.models import AuditEntry, Position, Site
from inspections.exchange import dump
from inspections.models import Inspection
from tests.inspections.exchange.books import Book, load_folder

DEMO = settings.FIXTURES / "demo"


def content(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.glob("*.csv"))}


def rows_of(folder: Path, sheet: str) -> list[dict[str, str]]:
    text = content(folder)[f"{sheet}.csv"].decode()
    return list(csv.DictReader(io.StringIO(text, newline="")))


def emptied():
    """An empty database again; only tests may lift the locks for it."""
    locks.lift(connection)
    call_command("flush", verbosity=0, interactive=False)
    locks.lay(connection)


def full_book() -> Book:
    book = Book()
    book["positions"][0]["note"] = 'a "quoted", two-line\nnote; =1+1'
    book["changes"].append({"tag": "PSV-1", "field": "set_pressure", "from_on": "2022-01-01",
                            "value": "140 psig", "moc": "M-7"})  # fmt: skip
    book["changes"].append({"tag": "PSV-1", "field": "fluid", "from_on": "2022-01-01",
                            "value": "steam"})  # fmt: skip
    book["changes"].append({"tag": "PSV-1", "field": "fluid", "from_on": "2023-01-01",
                            "value": "!clear"})  # fmt: skip
    book["decisions"].append({"tag": "PSV-1", "activity": "bench_test", "from_on": "2024-06-01",
                              "interval": "P2Y", "reason": "low", "decided_by": "Eve"})  # fmt: skip
    book["deferrals"].append({"tag": "PSV-1", "activity": "bench_test", "due_on": "2026-05-02",
                              "until_on": "2026-12-01", "policy": "assessed", "reason": "outage",
                              "approved_by": "Eve", "approved_on": "2026-04-01"})  # fmt: skip
    book["inspections"][0] |= {"later_pops": "151 psig; 150 psig", "reseat": "1,5 barg",
                               "done_on": "2024-05", "typed_deviation": "1.33 %"}  # fmt: skip
    book["inspections"].append({**book["inspections"][0], "ref": "I-2", "corrects": "I-1"})
    book["inspections"].append({"ref": "I-3", "device": "D-2", "activity": "bench_test",
                                "done_on": "not recorded", "done_by": "not recorded",
                                "no_lift_at": "200 psig"})  # fmt: skip
    book["settings"].append({"ref": "I-2", "setting": "compression_screw", "stage": "as_left",
                             "value": "15 1/4 turns", "datum": "first thread"})  # fmt: skip
    book["settings"].append({"ref": "I-2", "setting": "lower_ring", "stage": "as_left",
                             "missing_reason": "not read"})  # fmt: skip
    book["findings"].append({"ref": "I-1", "part": "disc", "condition": "second look: sound"})
    return book


@pytest.mark.django_db
def test_export_is_what_was_typed(tmp_path):
    full_book().load(tmp_path)
    dump(tmp_path / "out")
    positions = rows_of(tmp_path / "out", "positions")
    assert positions[0]["set_pressure"] == "150 psig"  # the first duty; 140 psig is in changes
    assert positions[0]["in_service_on"] == "2010-03"
    assert positions[0]["note"] == 'a "quoted", two-line\nnote; =1+1'  # never altered
    rows = {row["ref"]: row for row in rows_of(tmp_path / "out", "inspections")}
    assert rows["I-1"]["later_pops"] == "151 psig; 150 psig"
    assert rows["I-1"]["done_on"] == "2024-05" and rows["I-1"]["reseat"] == "1,5 barg"
    assert rows["I-3"]["done_by"] == rows["I-3"]["done_on"] == "not recorded"
    assert (rows["I-3"]["no_lift_at"], rows["I-3"]["first_pop"]) == ("200 psig", "")
    assert b"\r" not in b"".join(content(tmp_path / "out").values())


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("kind", ["out", "out.zip", "out.xlsx"])
def test_a_second_round_gives_the_same_bytes(tmp_path, kind):
    report = full_book().load(tmp_path)
    assert not report.faults, report.faults
    dump(tmp_path / "first")
    dump(tmp_path / kind)
    emptied()
    assert not Position.objects.exists()
    assert not load_folder(tmp_path / kind).faults
    dump(tmp_path / "second")
    assert content(tmp_path / "first") == content(tmp_path / "second")


@pytest.mark.django_db(transaction=True)
def test_the_demo_plant_goes_round(tmp_path):
    assert not load_folder(DEMO).faults
    dump(tmp_path / "first")
    entries = AuditEntry.objects.count()
    assert not load_folder(tmp_path / "first").counts  # what was written is what is there
    assert AuditEntry.objects.count() == entries
    emptied()
    assert not load_folder(tmp_path / "first").faults
    dump(tmp_path / "second")
    assert content(tmp_path / "first") == content(tmp_path / "second")


@pytest.mark.django_db
def test_the_spreadsheet_says_the_same_to_another_reader(tmp_path):
    """openpyxl, which shares no code with the writer, reads text and no formula."""
    full_book().load(tmp_path)
    dump(tmp_path / "out")
    dump(tmp_path / "out.xlsx")
    book = openpyxl.load_workbook(tmp_path / "out.xlsx")
    for name, text in content(tmp_path / "out").items():
        written = list(csv.reader(io.StringIO(text.decode(), newline="")))
        rows = [["" if v is None else v for v in row] for row in
                book[name.removesuffix(".csv")].iter_rows(values_only=True)]  # fmt: skip
        assert rows == written
        kinds = {c.data_type for row in book[name.removesuffix(".csv")].iter_rows() for c in row}
        assert kinds <= {"s", "n"}  # n: an empty cell


@pytest.mark.django_db
def test_a_zip_is_the_same_file_twice(tmp_path):
    Book().load(tmp_path)
    dump(tmp_path / "a.zip")
    dump(tmp_path / "b.zip")
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()
    assert "positions.csv" in zipfile.ZipFile(tmp_path / "a.zip").namelist()


@pytest.mark.django_db
def test_one_site_alone_may_be_written(tmp_path):
    book = Book()
    book["positions"].append({**book["positions"][1], "tag": "PSV-3", "site": "Southmere"})
    book["outages"][0]["site"] = "Northmere"
    assert not book.load(tmp_path).faults
    counts = dump(tmp_path / "out", site=Site.objects.get(name="Northmere"))
    assert counts["positions"] == 2 and counts["inspections"] == 1


@pytest.mark.django_db
def test_a_datum_that_the_setting_point_has_left_is_written(tmp_path):
    Book().load(tmp_path)
    book = Book("setting_points")
    book["setting_points"][0]["datum"] = "another stop"
    book.load(tmp_path)
    dump(tmp_path / "out")
    found = rows_of(tmp_path / "out", "settings")
    assert {row["datum"] for row in found} == {"ring touching a flat on the seat"}


@pytest.mark.django_db
def test_a_job_still_being_written_has_no_row(tmp_path):
    Book().load(tmp_path)
    record = Inspection.objects.get()
    Inspection.objects.create(
        ref="J-1", site=record.site, device=record.device, activity="overhaul",
        recorded_at=record.recorded_at, recorded_by=record.recorded_by,
    )  # fmt: skip
    assert dump(tmp_path / "out")["inspections"] == 1
