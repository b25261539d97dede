"""Every finding of the exchange format: it loads, and opens a question on the record."""

import pytest

from inspections.models import Question
from tests.inspections.exchange.books import Book

pytestmark = pytest.mark.django_db


def change(sheet, row, **cells):
    return lambda book: book[sheet][row].update(cells)


FINDINGS = {
    "set above the limit of its role": (
        change("positions", 0, set_pressure="151 psig"),
        "positions 2 set_pressure set_above_limit",
    ),
    "a typed deviation its pressures do not give": (
        change("inspections", 0, typed_deviation="-1.4 %"),
        "inspections 2 typed_deviation deviation_mismatch",
    ),
    "a device never at that tag": (
        change("inspections", 0, tag="PSV-2"),
        "inspections 2 tag device_not_at_tag",
    ),
    "required settings absent": (
        lambda book: book["settings"].pop(),
        "inspections 2 lower_ring settings_absent",
    ),
    "pressure assumed gauge": (
        change("positions", 0, set_pressure="150 psi"),
        "positions 2 set_pressure assumed_gauge",
    ),
    "a pop assumed gauge": (
        change("inspections", 0, first_pop="152 psi"),
        "inspections 2 first_pop assumed_gauge",
    ),
    "a nameplate assumed gauge": (
        change("devices", 0, nameplate_set="150 psi"),
        "devices 2 nameplate_set assumed_gauge",
    ),
    "a cold test pressure that does not follow": (
        change("positions", 0, cold_test_pressure="140 psig", temperature_multiplier="1.02"),
        "positions 2 cold_test_pressure cold_test_mismatch",
    ),
    "a cold test pressure on the sheet that does not follow": (
        change("inspections", 0, cold_test_pressure="153 psig"),
        "inspections 2 cold_test_pressure cold_test_mismatch",
    ),
    "a gauge out of its range": (
        change("inspections", 0, gauge="G-1", gauge_range="0 to 100 psig"),
        "inspections 2 gauge gauge_doubtful",
    ),
    "a gauge out of date": (
        change("inspections", 0, gauge="G-1", gauge_due_on="2024-05-01"),
        "inspections 2 gauge gauge_doubtful",
    ),
    "a device that does not suit its position": (
        change("devices", 0, nameplate_set="250 psig"),
        "installations 2 device unfit_device",
    ),
}


@pytest.mark.parametrize("name", FINDINGS)
def test_a_finding_loads_and_opens_a_question_once(tmp_path, name):
    bend, expected = FINDINGS[name]
    book = Book()
    bend(book)
    report = book.load(tmp_path)
    assert not report.faults
    found = {f"{f.sheet} {f.row} {f.field} {f.code}" for f in report.findings}
    assert found == {expected}, report.findings
    assert Question.objects.open().count() == len(report.findings)
    again = book.load(tmp_path)
    assert not again.counts and Question.objects.count() == len(report.findings)


def test_the_plant_itself_raises_none(tmp_path):
    report = Book().load(tmp_path)
    assert (report.faults, report.findings, report.notes) == ([], [], [])


def test_the_cold_test_pressure_is_set_times_multiplier(tmp_path):
    """(150 - 20) x 1.02 = 132.6: common practice as in API RP 576 (from memory)."""
    book = Book()
    book["positions"][0] |= {
        "cold_test_pressure": "132.6 psig",
        "back_pressure": "20 psig",
        "back_pressure_kind": "constant",
        "temperature_multiplier": "1.02",
    }
    assert not book.load(tmp_path).findings


@pytest.mark.parametrize(
    ("role", "fits", "exceeds"),
    [("first", "150", "150.1"), ("additional", "157.5", "157.6"), ("fire", "165", "165.1"),
     ("boiler", "154.5", "154.6")],
)  # fmt: skip
def test_the_limit_of_each_duty_role(tmp_path, role, fits, exceeds):
    """On 150 psig: first 100 %, additional 105 %, fire 110 % (29 CFR 1910.119 citations, common
    practice), boilers MAWP + 3 % (US Navy training manual NAVEDTRA 14259)."""
    for place, (typed, codes) in enumerate([(fits, []), (exceeds, ["set_above_limit"])]):
        book = Book("positions")
        del book.sheets["positions"][1:]
        book["positions"][0] |= {
            "site": f"Site {place}",
            "duty_role": role,
            "set_pressure": f"{typed} psig",
        }
        report = book.load(tmp_path)
        assert [f.code for f in report.findings] == codes


def test_a_named_override_answers_the_fitting_check(tmp_path):
    book = Book()
    book["devices"][0]["nameplate_set"] = "250 psig"
    book["installations"][0]["override_reason"] = "reset to 150 psig, tag renewed: Eve Tarn"
    assert not book.load(tmp_path).findings
