"""What a load writes, and that it says so."""

from datetime import date

import pytest
from django.core.management import call_command

from fleet.models import (
    AuditEntry,
    Device,
    DueLine,
    EventVoid,
    Installation,
    IntervalDecision,
    Obligation,
    Position,
    PositionDuty,
    ServiceEvent,
    User,
)
from fleet.reports import proof
from inspections.models import Inspection, PopTest, SettingReading
from tests.inspections.exchange.books import AT, Book

pytestmark = pytest.mark.django_db


def test_loading_twice_changes_nothing(tmp_path):
    Book().load(tmp_path)
    before = (AuditEntry.objects.count(), User.objects.count(), PositionDuty.objects.count())
    report = Book().load(tmp_path)
    assert (report.said, dict(report.counts)) == ([], {})
    assert before == (
        AuditEntry.objects.count(),
        User.objects.count(),
        PositionDuty.objects.count(),
    )


def test_a_dry_run_says_the_same_and_writes_nothing(tmp_path):
    tried = Book().load(tmp_path, dry_run=True)
    assert not Position.objects.exists() and not Inspection.objects.exists()
    done = Book().load(tmp_path)
    assert tried.counts == done.counts and tried.said == done.said


def test_the_chain_and_the_dates_hold_after_a_load(tmp_path):
    Book().load(tmp_path)
    assert list(proof.differences()) == []
    call_command("check_due_dates")


def test_a_verified_record_is_locked_counted_and_moves_the_due_date(tmp_path):
    Book().load(tmp_path)
    record = Inspection.objects.get(ref="I-1")
    assert record.locked_at == AT and record.verified_by.name == "Bo Marsh"
    assert record.accepted_by is None and record.is_baseline
    assert record.disposition == "repaired" and record.method == "bench"
    assert record.position.tag == "PSV-1"
    assert ServiceEvent.objects.get().done_on == date(2024, 5, 2)
    line = DueLine.objects.get(position__tag="PSV-1")
    assert line.due_on == date(2029, 5, 2)  # five years on: rule api510-process


def test_a_row_without_a_verifier_is_accepted_by_who_runs_it(tmp_path):
    book = Book()
    book["inspections"][0]["verified_by"] = ""
    book.load(tmp_path)
    record = Inspection.objects.get()
    assert record.verified_by is None and record.accepted_by.username == "command line"
    assert record.locked_at and record.event


def test_or_left_open_where_the_run_says_so(tmp_path):
    book = Book()
    book["inspections"][0]["verified_by"] = ""
    book.load(tmp_path, leave_unverified=True)
    record = Inspection.objects.get()
    assert (record.locked_at, record.accepted_by, record.event) == (None, None, None)
    assert record.signed_at is not None and not ServiceEvent.objects.exists()
    again = book.load(tmp_path)
    assert [note.code for note in again.notes] == ["open"] and not again.counts


def test_people_come_as_inactive_accounts_with_the_name_as_typed(tmp_path):
    Book().load(tmp_path)
    person = User.objects.get(name="Ann Lowe")
    assert not person.is_active and not person.has_usable_password()


def test_not_recorded_is_kept_as_such(tmp_path):
    book = Book()
    book["inspections"][0] |= {"done_by": "not recorded", "done_on": "not recorded"}
    assert not book.load(tmp_path).faults
    record = Inspection.objects.get()
    assert record.done_by.name == "not recorded"
    assert (record.done_on, record.done_typed, record.event) == (None, "not recorded", None)


def test_a_partial_date_counts_from_its_earliest_day(tmp_path):
    book = Book()
    book["inspections"][0]["done_on"] = "2024"
    book.load(tmp_path)
    record = Inspection.objects.get()
    assert (record.done_on, record.done_typed) == (date(2024, 1, 1), "2024")


def test_a_correction_voids_what_it_corrects(tmp_path):
    book = Book()
    book["inspections"].insert(
        0, {**book["inspections"][0], "ref": "I-1a", "corrects": "I-1", "done_on": "2024-05-03"}
    )
    assert not book.load(tmp_path).faults
    assert EventVoid.objects.get().event.ref == "I-1"
    assert DueLine.objects.get(position__tag="PSV-1").due_on == date(2029, 5, 3)
    assert Inspection.objects.standing().get().ref == "I-1a"


def test_a_second_correction_of_one_record_is_refused(tmp_path):
    book = Book()
    for ref in ("I-1a", "I-1b"):
        book["inspections"].append({**book["inspections"][0], "ref": ref, "corrects": "I-1"})
    assert [f.code for f in book.load(tmp_path).faults] == ["corrected_twice"]


def test_pops_are_rows_of_their_own(tmp_path):
    book = Book()
    book["inspections"][0] |= {
        "later_pops": "151 psig; 150.5 psig",
        "reseat": "140 psig",
        "leak_rate": "0 bubbles/min",
    }
    book.load(tmp_path)
    pops = PopTest.objects.order_by("stage", "order")
    assert [(p.stage, p.order, str(p.pressure)) for p in pops] == [
        ("as_found", 1, "152 psig"),
        ("as_found", 2, "151 psig"),
        ("as_found", 3, "150.5 psig"),
        ("as_left", 1, "150 psig"),
    ]
    assert (str(pops[3].reseat), pops[0].reseat, pops[0].verdict) == ("140 psig", None, "in")


def test_no_lift_is_a_bound_and_not_a_pressure(tmp_path):
    book = Book()
    book["inspections"][0] |= {"first_pop": "", "no_lift_at": "225 psig"}
    book.load(tmp_path)
    pop = PopTest.objects.get(stage="as_found")
    assert (str(pop.pressure), pop.bound, pop.result) == ("225 psig", "above", "no_lift")
    assert ServiceEvent.objects.get().as_found_bound == "above"


def test_synonyms_and_the_own_datum_of_a_setting_point(tmp_path):
    Book().load(tmp_path)
    readings = SettingReading.objects.all()
    assert {(r.setting, str(r.value), r.datum, r.is_datum_typed) for r in readings} == {
        ("lower_ring", "-7 notches", "ring touching a flat on the seat", False)
    }


def test_another_datum_is_kept_and_a_missing_value_says_why(tmp_path):
    book = Book()
    book["settings"][0] |= {"value": "", "missing_reason": "sheet lost"}
    book["settings"][1] |= {"datum": "holder", "value": "5/16 in"}
    assert not book.load(tmp_path).said
    found, left = SettingReading.objects.order_by("stage")
    assert (found.value, found.missing_reason) == (None, "sheet lost")
    assert (left.datum, left.is_datum_typed, str(left.value)) == ("holder", True, "5/16 in")


def test_a_changed_position_begins_a_new_duty_from_today(tmp_path):
    Book().load(tmp_path)
    book = Book("positions")
    book["positions"][0]["set_pressure"] = "145 psig"
    report = book.load(tmp_path)
    assert [note.code for note in report.notes] == ["duty_changed"]
    duties = PositionDuty.objects.filter(tag="PSV-1").order_by("pk")
    assert [(d.from_on, str(d.set_pressure)) for d in duties] == [
        (None, "150 psig"),
        (date(2026, 10, 31), "145 psig"),
    ]
    position = Position.objects.get(tag="PSV-1")
    assert position.set_kpag == duties[1].set_pressure.kpag
    assert not book.load(tmp_path).counts  # what holds now
    first = Book("positions").load(tmp_path)  # what held first
    assert not first.counts and [note.code for note in first.notes] == ["first_duty"]
    assert list(proof.differences()) == []


def test_empty_leaves_as_it_is_and_clear_clears(tmp_path):
    book = Book()
    book["devices"][0] |= {"lot": "L-9", "nameplate_set": "150 psig"}
    book.load(tmp_path)
    book["devices"][0] |= {"lot": "", "nameplate_set": "!clear"}
    book.load(tmp_path)
    device = Device.objects.get(number="D-1")
    assert (device.lot, device.nameplate_set, device.serial) == ("L-9", None, "00123")


def test_a_row_that_is_absent_is_left_alone(tmp_path):
    Book().load(tmp_path)
    book = Book()
    del book["devices"][2]
    assert not book.load(tmp_path).counts and Device.objects.count() == 3


def test_a_removal_closes_the_spell_and_a_device_goes_in_on_the_same_day(tmp_path):
    Book().load(tmp_path)
    book = Book()
    book["installations"][0]["removed_on"] = "2025-02-01"
    book["installations"].append({"tag": "PSV-1", "device": "D-3", "installed_on": "2025-02-01"})
    report = book.load(tmp_path)
    assert not report.faults
    assert report.counts["installations ended"] == 1
    spell = Installation.objects.get(device__number="D-1")
    assert (spell.removed_on, spell.closed_at) == (date(2025, 2, 1), AT)
    assert DueLine.objects.get(position__tag="PSV-1").state == "no_record"
    assert not book.load(tmp_path).counts
    assert list(proof.differences()) == []


def test_an_obligation_ends_and_a_decision_moves_the_date(tmp_path):
    book = Book()
    decision = {"tag": "PSV-1", "activity": "bench_test", "from_on": "2024-06-01",
                "interval": "P2Y", "reason": "two low", "decided_by": "Eve Tarn"}  # fmt: skip
    book["decisions"].append(decision)
    book.load(tmp_path)
    assert IntervalDecision.objects.get().decided_by.name == "Eve Tarn"
    assert DueLine.objects.get(position__tag="PSV-1").due_on == date(2026, 5, 2)
    book["obligations"][0]["until_on"] = "2026-01-01"
    assert not book.load(tmp_path).faults
    assert Obligation.objects.get().until_on == date(2026, 1, 1)
    assert DueLine.objects.get(position__tag="PSV-1").state == "no_obligation"


def test_changes_are_duties_from_a_day_and_a_tag_is_found_by_both_names(tmp_path):
    book = Book()
    book["changes"].extend([
        {"tag": "PSV-1", "field": "tag", "from_on": "2022-01-01", "value": "PSV-100"},
        {"tag": "PSV-1", "field": "set_pressure", "from_on": "2022-01-01", "value": "140 psig",
         "moc": "M-7"},
        {"tag": "PSV-1", "field": "fluid", "from_on": "2023-01-01", "value": "steam"},
    ])  # fmt: skip
    report = book.load(tmp_path)
    assert not report.faults
    position = Position.objects.get(tag="PSV-100")
    duties = position.duties.order_by("pk")
    assert [(str(d.set_pressure), d.fluid, d.moc) for d in duties] == [
        ("150 psig", "", ""),
        ("140 psig", "", "M-7"),
        ("140 psig", "steam", ""),
    ]
    assert position.installations.count() == 1  # the sheet says PSV-1
    assert not book.load(tmp_path).counts
    book["changes"][1]["value"] = "141 psig"
    assert [f.code for f in book.load(tmp_path).faults] == ["dated_fact"]


def test_unknown_columns_and_sheets_are_noted_and_left_out(tmp_path):
    book = Book()
    book["devices"][0]["colour"] = "red"
    book["wishes"].append({"a": "b"})
    report = book.load(tmp_path)
    assert not report.faults
    assert {(n.sheet, n.code) for n in report.notes} == {
        ("devices", "unknown_column"),
        ("wishes", "unknown_sheet"),
    }


def test_a_later_load_of_an_inspected_site_is_no_baseline(tmp_path):
    Book().load(tmp_path)
    book = Book()
    book["inspections"].append({**book["inspections"][0], "ref": "I-2", "done_on": "2026-05-02"})
    book["settings"].extend([{**row, "ref": "I-2"} for row in book["settings"]])
    book.load(tmp_path)
    assert [i.is_baseline for i in Inspection.objects.order_by("ref")] == [True, False]


def test_a_header_may_carry_the_unit(tmp_path):
    book = Book("positions")
    for row in book["positions"]:
        row["set_pressure [psig]"] = row.pop("set_pressure").split()[0]
    report = book.load(tmp_path)
    assert not report.faults
    assert {str(d.set_pressure) for d in PositionDuty.objects.all()} == {"150 psig", "10.3 psig"}
