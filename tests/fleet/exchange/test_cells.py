"""Cells as people type them. The rules of reading are those of the exchange format."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from fleet.calc.typed_dates import TypedDate
from fleet.calc.units import GAUGE, LENGTH, UnitsError
from fleet.exchange import cells
from fleet.exchange.cells import CellError, Kind, Reading, plain_text

TODAY = date(2026, 10, 31)
READING = Reading(TODAY)


def read(kind: Kind, cell, **reading):
    settings = Reading(TODAY, **reading)
    return kind.read(plain_text(cell, kind, settings), settings)


@pytest.mark.parametrize("cell", [123.0, 5, 0.5])
def test_text_that_became_a_number_is_refused(cell):
    with pytest.raises(CellError, match="spreadsheet has turned"):
        plain_text(cell, cells.text(), READING)


def test_text_that_became_a_date_is_refused():
    """5/16 in an inch column is what spreadsheets turn into the 16th of May."""
    with pytest.raises(CellError, match="turned what was typed into a date"):
        plain_text({"date": "2026-05-16"}, cells.quantity(LENGTH), READING)


def test_a_time_is_never_a_date():
    with pytest.raises(CellError, match="time"):
        plain_text({"time": "2026-05-16 10:00:00"}, cells.day(), READING)


def test_a_number_needs_its_unit_or_a_header():
    with pytest.raises(CellError, match="unit"):
        read(cells.quantity(GAUGE), 150.0)
    found = read(cells.quantity(GAUGE), 150.0, header_unit="psig")
    assert (found.magnitude, found.text) == (Fraction(150), "150 psig")


def test_a_spreadsheet_date_is_a_date():
    assert read(cells.day(), {"date": "2025-04-03"}).on == date(2025, 4, 3)


def test_a_partial_date_is_its_earliest_day_and_stays_as_typed():
    found = read(cells.day(partial=True), "2011-03")
    assert (found.on, found.text, found.is_partial) == (date(2011, 3, 1), "2011-03", True)


def test_a_partial_date_where_the_day_must_be_known():
    with pytest.raises(CellError, match="whole date"):
        read(cells.day(), "2011-03")


def test_day_and_month_need_their_order():
    with pytest.raises(UnitsError, match="order"):
        read(cells.day(), "03/04/2025")
    assert read(cells.day(), "03/04/2025", date_order="DMY").on == date(2025, 4, 3)
    assert read(cells.day(), "03/04/2025", date_order="MDY").on == date(2025, 3, 4)


def test_a_day_in_the_future_is_refused_where_it_must_be_past():
    assert isinstance(read(cells.day(past=True), "2026-10-31"), TypedDate)
    with pytest.raises(CellError, match="future"):
        read(cells.day(past=True), "2026-11-01")


def test_not_recorded_is_legal_for_a_person_and_an_old_date():
    assert read(cells.person(), "Not Recorded").casefold() == "not recorded"
    assert read(cells.day(not_recorded=True), "not recorded") == "not recorded"
    with pytest.raises(CellError):
        read(cells.day(), "not recorded")
    with pytest.raises(CellError):
        read(cells.person(not_recorded=False), "not recorded")


@pytest.mark.parametrize("typed", ["n/a", "-", "TBC"])
def test_a_person_is_never_a_placeholder(typed):
    with pytest.raises(CellError):
        read(cells.person(), typed)


def test_a_comma_and_three_digits_need_the_decimal_mark():
    with pytest.raises(UnitsError, match="decimal mark"):
        read(cells.quantity(GAUGE), "1,035 kPag")
    assert read(cells.quantity(GAUGE), "1,035 kPag", decimal_mark=".").magnitude == 1035
    assert read(cells.quantity(GAUGE), "1,035 kPag", decimal_mark=",").magnitude == Fraction(
        "1.035"
    )


@pytest.mark.parametrize(
    "typed",
    ["150 psig", "10.3 barg", "1035 kPag", "7 kg/cm2g", "-0.5 kPag", "25 mmH2Og", "150 psi"],
)
def test_the_pressures_of_the_format_are_read(typed):
    assert read(cells.quantity(GAUGE), typed).text == typed


@pytest.mark.parametrize("typed", ["9**9**9 psig", "21 1/2/3 psig", "150", "abc", "150 psia"])
def test_what_is_no_gauge_pressure_is_refused(typed):
    with pytest.raises(UnitsError):
        read(cells.quantity(GAUGE), typed)


def test_a_quantity_longer_than_the_register_keeps_is_refused():
    with pytest.raises(UnitsError, match="at most 60"):
        read(cells.quantity(GAUGE), "0" * 60 + "150 psig")
    with pytest.raises(UnitsError, match="at most 60"):  # with its unit from the header
        read(cells.quantity(GAUGE), "0" * 55 + "150", header_unit="psig")


def test_later_pops_are_a_list():
    found = read(cells.quantities(GAUGE), "151 psig; 149.5 psig")
    assert [q.text for q in found] == ["151 psig", "149.5 psig"]


def test_words_are_closed_and_named():
    assert read(cells.word(["gas", "steam"]), "Gas") == "gas"
    with pytest.raises(CellError, match="gas, steam"):
        read(cells.word(["gas", "steam"]), "vapour")


def test_yes_and_no():
    assert read(cells.yes_no(), "yes") is True
    assert read(cells.yes_no(), False) is False
    with pytest.raises(CellError):
        read(cells.yes_no(), "maybe")
    with pytest.raises(CellError, match="true or false"):
        read(cells.text(), True)


@pytest.mark.parametrize("typed", ["1e9", "NaN", "-1", "1.234", "twelve", "1_000", "10000"])
def test_hours_are_a_plain_number(typed):
    with pytest.raises(CellError):
        read(cells.decimal(2, 4), typed)


def test_a_decimal_keeps_its_value():
    assert read(cells.decimal(2, 4), "12.5") == Decimal("12.5")
    assert read(cells.decimal(2, 4), 12.5) == Decimal("12.5")


def test_hidden_characters_and_long_texts_are_refused():
    with pytest.raises(CellError, match="hidden"):
        read(cells.text(), "PSV\x001")
    with pytest.raises(CellError, match="at most 3"):
        read(cells.text(3), "four")
