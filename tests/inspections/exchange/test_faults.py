"""Every fault of the exchange format: nothing of the run is written, and the cell is named."""

from datetime import datetime

import pytest
import xlsxwriter
from django.db import connection

from fleet.models import AuditEntry, Device, Installation, Position, Site, User
from inspections.models import Inspection
from tests.inspections.exchange.books import Book, load_folder

pytestmark = pytest.mark.django_db


def change(sheet, row, **cells):
    return lambda book: book[sheet][row].update(cells)


def add(sheet, **cells):
    return lambda book: book[sheet].append(cells)


I2 = {
    "ref": "I-2",
    "device": "D-2",
    "activity": "bench_test",
    "done_on": "2024-06-01",
    "done_by": "Ann Lowe",
}
FAULTS = {
    "a bad unit": (change("positions", 0, set_pressure="150 psoi"), "positions 2 set_pressure"),
    "no unit": (change("positions", 0, set_pressure="150"), "positions 2 set_pressure"),
    "absolute for gauge": (change("positions", 0, set_pressure="150 psia"),
                           "positions 2 set_pressure"),
    "an ambiguous comma": (change("positions", 0, set_pressure="1,035 kPag"),
                           "positions 2 set_pressure"),
    "a power": (change("positions", 0, set_pressure="9**9**9"), "positions 2 set_pressure"),
    "two slashes": (change("settings", 0, value="21 1/2/3"), "settings 2 value"),
    "an unknown word": (change("positions", 0, phase="vapour"), "positions 2 phase"),
    "an unknown tolerance": (change("positions", 0, tolerance="asme9"), "positions 2 tolerance"),
    "a required cell empty": (change("positions", 0, unit=""), "positions 2 unit"),
    "a required cell n/a": (change("positions", 0, unit="n/a"), "positions 2 unit"),
    "a required cell TBC": (change("positions", 0, set_pressure="TBC"),
                            "positions 2 set_pressure"),
    "a duplicate tag": (add("positions", **{"site": "Northmere", "tag": "PSV-1", "unit": "Stills",
                        "set_pressure": "150 psig"}), "positions 4 tag"),
    "two MAWPs": (change("positions", 1, equipment="V-1"), "positions 3 equipment_mawp"),
    "a MAWP of nothing": (change("positions", 0, equipment=""), "positions 2 equipment"),
    "a duplicate device": (add("devices", device="D-1", kind="spring"), "devices 5 device"),
    "an unknown tag": (change("installations", 0, tag="PSV-9"), "installations 2 tag"),
    "an unknown device": (change("installations", 0, device="D-9"), "installations 2 device"),
    "a fitting in the future": (change("installations", 0, installed_on="2026-11-01"),
                                "installations 2 installed_on"),
    "removed before installed": (change("installations", 0, removed_on="2020-01-10"),
                                 "installations 2 removed_on"),
    "overlapping spells": (add("installations", tag="PSV-1", device="D-3",
                           installed_on="2021-01-01"), "installations 4 installed_on"),
    "one device in two places": (add("installations", tag="PSV-2", device="D-1",
                                 installed_on="2019-01-01", removed_on="2020-01-11"),
                                 "installations 2 installed_on"),
    "a day that is read two ways": (change("installations", 0, installed_on="03/04/2020"),
                                    "installations 2 installed_on"),
    "an unknown rule": (change("obligations", 0, rule="api999"), "obligations 2 rule"),
    "a duplicate obligation": (add("obligations", tag="PSV-1", activity="bench_test",
                               rule="api510-process"), "obligations 3 activity"),
    "a decision on nothing owed": (add("decisions", tag="PSV-2", activity="bench_test",
                                   from_on="2024-01-01", interval="P2Y", reason="x",
                                   decided_by="Eve"), "decisions 2 activity"),
    "an interval that is none": (add("decisions", tag="PSV-1", activity="bench_test",
                                 from_on="2024-01-01", interval="2 years", reason="x",
                                 decided_by="Eve"), "decisions 2 interval"),
    "work in the future": (change("inspections", 0, done_on="2026-11-01"),
                           "inspections 2 done_on"),
    "verified by the one who did it": (change("inspections", 0, verified_by="ann lowe"),
                                       "inspections 2 verified_by"),
    "a verifier not recorded": (change("inspections", 0, verified_by="not recorded"),
                                "inspections 2 verified_by"),
    "a duplicate ref": (lambda b: b["inspections"].append(dict(b["inspections"][0])),
                        "inspections 3 ref"),
    "a pop and no lift": (change("inspections", 0, no_lift_at="160 psig"),
                          "inspections 2 no_lift_at"),
    "a pop and a waived test": (change("inspections", 0, waived_reason="fouled"),
                                "inspections 2 waived_reason"),
    "a correction of nothing": (change("inspections", 0, corrects="I-0"),
                                "inspections 2 corrects"),
    "settings of no record": (add("settings", ref="I-9", setting="lower_ring", stage="as_left",
                              value="1 notches"), "settings 4 ref"),
    "a setting twice": (change("settings", 1, stage="as_found"), "settings 3 setting"),
    "a bare adjusting ring": (change("settings", 0, setting="adjusting ring"),
                              "settings 2 setting"),
    "pops as a setting": (change("settings", 0, setting="set_pressure"), "settings 2 setting"),
    "a setting of another measure": (change("settings", 0, value="5/16 in"), "settings 2 value"),
    "neither value nor reason": (change("settings", 0, value=""), "settings 2 value"),
    "findings of no record": (add("findings", ref="I-9", part="disc", condition="x"),
                              "findings 3 ref"),
    "an outage that ends first": (change("outages", 0, ends_on="2027-03-01"), "outages 2 ends_on"),
    "an outage of no unit": (change("outages", 0, units="Stills; Boilers"), "outages 2 units"),
    "an unknown activity": (change("job_hours", 0, activity="polish"), "job_hours 2 activity"),
    "a synonym of two settings": (add("setting_points", maker="Quay", model="Q2",
                                  setting="upper_ring", measure="notches", datum="holder",
                                  positive="up", synonyms="Nozzle Ring"),
                                  "setting_points 3 synonyms"),
    "a column twice": (lambda b: b.sheets.update(findings=[{"ref": "I-1", "part": "disc",
                       "condition": "x", " part": "y"}]), "findings 1 part"),
    "a required column missing": (lambda b: [row.pop("kind") for row in b["devices"]],
                                  "devices 1 kind"),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_names_its_cell_and_nothing_is_written(tmp_path, name):
    bend, place = FAULTS[name]
    book = Book()
    bend(book)
    report = book.load(tmp_path)
    found = [f"{fault.sheet} {fault.row} {fault.field}" for fault in report.faults]
    assert found == [place], report.faults
    assert report.faults[0].expected
    assert not Site.objects.exists() and not Position.objects.exists()
    assert not report.counts


def test_every_fault_is_listed_at_once(tmp_path):
    book = Book()
    book["positions"][0]["set_pressure"] = "x"
    book["devices"][1]["kind"] = "y"
    book["inspections"][0]["done_on"] = "z"
    assert [fault.sheet for fault in book.load(tmp_path).faults] == [
        "positions",
        "devices",
        "inspections",
    ]


def test_rows_that_name_a_faulty_row_are_not_blamed_as_well(tmp_path):
    book = Book()
    book["positions"][0]["set_pressure"] = "x"
    assert len(book.load(tmp_path).faults) == 1


def test_a_changed_row_of_a_locked_ref(tmp_path):
    Book().load(tmp_path)
    book = Book()
    book["inspections"][0]["as_left_pop"] = "149 psig"
    book["settings"][0]["value"] = "-8 notches"
    book["findings"].append({"ref": "I-1", "part": "spring", "condition": "corroded"})
    faults = book.load(tmp_path).faults
    assert {(f.sheet, f.field, f.code) for f in faults} == {
        ("inspections", "as_left_pop", "locked"),
        ("settings", "value", "locked"),
        ("findings", "part", "locked"),
    }
    assert "`corrects` I-1" in faults[0].expected


DATED = {
    "another device": ("installations", {"device": "D-3"}),
    "another counts_from": ("obligations", {"counts_from": "installed_on"}),
}


@pytest.mark.parametrize("name", DATED)
def test_a_changed_dated_fact_is_refused(tmp_path, name):
    Book().load(tmp_path)
    sheet, cells = DATED[name]
    book = Book()
    book[sheet][0].update(cells)
    assert [f.code for f in book.load(tmp_path).faults] == ["dated_fact"]


def test_a_changed_decision_is_refused(tmp_path):
    decision = {"tag": "PSV-1", "activity": "bench_test", "from_on": "2024-06-01",
                "interval": "P2Y", "reason": "two low", "decided_by": "Eve Tarn"}  # fmt: skip
    book = Book()
    book["decisions"].append(decision)
    assert not book.load(tmp_path).faults
    book["decisions"][0]["interval"] = "P3Y"
    assert [(f.field, f.code) for f in book.load(tmp_path).faults] == [("interval", "dated_fact")]


def test_nothing_at_all_is_written_not_even_the_people(tmp_path):
    book = Book()
    book["settings"][0]["value"] = "x"
    before = (User.objects.count(), AuditEntry.objects.count())
    assert book.load(tmp_path).faults
    tables = (Device, Installation, Inspection)
    assert not any(table.objects.exists() for table in tables)
    assert User.objects.count() - before[0] <= 1  # the account that ran it
    assert not connection.needs_rollback


def test_rows_of_another_site_are_refused_where_one_is_named(tmp_path):
    Book().load(tmp_path)
    other = Site.objects.create(name="Southmere")
    report = Book().load(tmp_path, only_site=other)
    assert "other_site" in {f.code for f in report.faults} and not report.counts


def test_a_site_must_be_clear(tmp_path):
    book = Book("positions")
    for row in book["positions"]:
        del row["site"]
    assert {f.field for f in book.load(tmp_path).faults} == {"site"}
    assert not book.load(tmp_path, site="Northmere").faults
    assert Site.objects.get().name == "Northmere"


def test_the_same_tag_at_two_sites_needs_its_site(tmp_path):
    book = Book()
    book["positions"].append({**book["positions"][0], "site": "Southmere", "equipment": "",
                              "equipment_mawp": ""})  # fmt: skip
    faults = book.load(tmp_path).faults
    assert ("installations", 2, "site") in {(f.sheet, f.row, f.field) for f in faults}


def test_what_a_spreadsheet_did_to_text_is_named_by_cell(tmp_path):
    """A serial 00123 that became a number, and 5/16 that became a date."""
    path = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(str(path)) as workbook:
        day = workbook.add_format({"num_format": "yyyy-mm-dd"})
        sheet = workbook.add_worksheet("devices")
        sheet.write_row(0, 0, ["device", "kind", "serial", "screw_lead", "shelf_expires_on"])
        sheet.write_row(1, 0, ["D-1", "spring"])
        sheet.write_number(1, 2, 123)
        sheet.write_datetime(1, 3, datetime(2026, 5, 16), day)
        sheet.write_datetime(1, 4, datetime(2030, 1, 1), day)  # a real date where one belongs
    faults = load_folder(path).faults
    assert [(f.sheet, f.row, f.field, f.typed) for f in faults] == [
        ("devices", 2, "serial", "123"),
        ("devices", 2, "screw_lead", "2026-05-16"),
    ]
    assert all("a spreadsheet has turned" in fault.expected for fault in faults)


def test_a_formula_is_refused_with_its_cell_and_nothing_is_written(tmp_path):
    path = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(str(path)) as workbook:
        sheet = workbook.add_worksheet("devices")
        sheet.write_row(0, 0, ["device", "kind"])
        sheet.write_row(1, 0, ["D-1", "spring"])
        sheet.write_formula(2, 0, '="D-"&2')
    faults = load_folder(path).faults
    assert [(f.field, f.code) for f in faults] == [("A3", "formula")]
    assert not Device.objects.exists()


def test_a_wrong_file_is_a_fault_and_not_an_accident(tmp_path):
    path = tmp_path / "book.docx"
    path.write_bytes(b"hello")
    assert [f.code for f in load_folder(path).faults] == ["unreadable_file"]
