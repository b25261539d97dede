"""Was the reading taken on a fit gauge? Practice of API RP 576 and a US plant inspection."""

from datetime import date

import pytest

from fleet.calc.units import GAUGE, UnitsError, parse_quantity
from inspections.calc.gauges import Gauge, gauge_of, gauge_questions
from inspections.calc.verdicts import Band

DAY = date(2024, 5, 6)


def psig(number):
    return parse_quantity(f"{number} psig", (GAUGE,))


BAND = Band(psig(97), psig(103))  # +/- 3 psi: a quarter of it is 0.75 psi


@pytest.mark.parametrize(
    "typed", ["0 to 300 psig", "0-300 psig", "0..300 psig", "0 – 300 psig", "0 psig to 300 psig"]
)
def test_ranges_as_people_type_them(typed):
    gauge = gauge_of(typed, "", None)
    assert (gauge.low, gauge.high) == (psig(0), psig(300))


def test_a_range_may_begin_below_zero():
    gauge = gauge_of("-1 to 10 barg", "0.25 % of span", DAY)
    assert (gauge.low.magnitude, gauge.high.magnitude) == (-1, 10)
    assert str(gauge.accuracy) == "0.25 %"


def test_a_range_written_from_zero_down_is_the_same_range():
    gauge = gauge_of("0 to -100 kPag", "10 %", DAY)
    assert (gauge.low.magnitude, gauge.high.magnitude) == (-100, 0)
    inside = parse_quantity("-50 kPag", (GAUGE,))
    [coarse] = gauge_questions(gauge, [inside], BAND, DAY)
    assert "worse than a quarter" in coarse  # 10 kPa is 1.45 psi, allowed is 0.75 psi


def test_a_range_in_another_unit_than_the_reading():
    gauge = gauge_of("0 to 10 barg", "", None)  # 145.038 psig: 1 bar is 100 kPa
    assert gauge_questions(gauge, [psig(145)], None, DAY) == ()
    assert len(gauge_questions(gauge, [psig("145.1")], None, DAY)) == 1


@pytest.mark.parametrize(
    "typed", [("300 psig", ""), ("0 to 300", ""), ("", "good"), ("0-3 in", "")]
)
def test_what_cannot_be_read_is_refused(typed):
    with pytest.raises(UnitsError):
        gauge_of(*typed, None)


def test_nothing_recorded_is_not_judged():
    assert gauge_questions(gauge_of("", " ", None), [psig(100)], BAND, DAY) == ()


def test_readings_outside_the_range_are_named():
    gauge = Gauge(psig(20), psig(100), None, None)
    questions = gauge_questions(gauge, [psig(101), psig(100), psig(20), psig(19)], BAND, DAY)
    assert len(questions) == 2
    assert "101 psig" in questions[0] and "19 psig" in questions[1]


def test_the_due_date_is_the_last_good_day():
    assert gauge_questions(Gauge(None, None, None, DAY), [], BAND, DAY) == ()
    assert gauge_questions(Gauge(None, None, None, date(2024, 5, 5)), [], BAND, DAY)


@pytest.mark.parametrize(
    ("accuracy", "fit"),
    [("0.25 %", True), ("0.26 %", False), ("0.75 psig", True), ("0.76 psig", False)],
)
def test_accuracy_is_at_most_a_quarter_of_the_tolerance(accuracy, fit):
    gauge = gauge_of("0 to 300 psig", accuracy, None)
    assert (gauge_questions(gauge, [], BAND, DAY) == ()) is fit


def test_a_share_of_an_unknown_span_is_not_judged():
    assert gauge_questions(gauge_of("", "5 %", None), [], BAND, DAY) == ()
