"""What a record gives cause to propose.

As-found cases: public US plant event reports (Licensee Event Reports) and NRC Information Notice
96-03; what counts as a failure: API RP 576 6.2.9.
"""

from datetime import date

import pytest

from fleet.calc.units import GAUGE, parse_quantity
from inspections.calc.causes import AsFound, Cause, causes_of
from inspections.calc.verdicts import Band, Pop, verdict

DAY, EARLIER = date(2009, 4, 20), date(2007, 10, 1)


def psig(value):
    return parse_quantity(f"{value} psig", (GAUGE,))


def found(set_at, pop, low, high, *, no_lift=False, ref="LER", on=DAY, **extra):
    """A first pop judged by the band the report gives."""
    band = Band(psig(low), psig(high))
    judged = verdict(Pop(psig(pop), no_lift), band)
    return AsFound(ref, on, judged, "no_lift" if no_lift else "", psig(pop), no_lift,
                   psig(set_at), band, **extra)  # fmt: skip


def kinds(record, before=None):
    return [cause.kind for cause in causes_of(record, before)]


PUBLISHED = [
    # LER 388/2009-001: seven valves, +/-3 %, all low
    (1175, 1123, "1139.75", "1210.25", "-4.43 %, below"),
    (1205, 1165, "1168.85", "1241.15", "-3.32 %, below"),
    (1195, 1155, "1159.15", "1230.85", "-3.35 %, below"),
    (1205, 1137, "1168.85", "1241.15", "-5.64 %, below"),
    (1195, 1154, "1159.15", "1230.85", "-3.43 %, below"),
    # LER 335/2002-001, V8203: +1/-3 % of the absolute pressure, low limit 955.3 psig
    ("985.3", "954.9", "955.3", "995.3", "-3.09 %, below"),
    # LER 311/2008-001, pop 1: 2410.45 to 2559.55 psig
    (2485, 2402, "2410.45", "2559.55", "-3.34 %, below"),
    # LER 247/2010-002, MS-45C: the plant's band 1034 to 1096 psig
    (1065, "1108.6", 1034, 1096, "+4.09 %, above"),
    # LER 247/2016-001: the first pop high, the next ones in the band
    (1065, 1125, 1034, 1096, "+5.63 %, above"),
]


@pytest.mark.parametrize(("set_at", "pop", "low", "high", "words"), PUBLISHED)
def test_a_published_failure_is_one_cause_in_its_figures(set_at, pop, low, high, words):
    band = f"{psig(low)} to {psig(high)}"
    assert causes_of(found(set_at, pop, low, high), None) == [
        Cause("as_received_failure", f"opened at {pop} psig, {words} {band}")
    ]


@pytest.mark.parametrize(("set_at", "pop"), [("985.3", "988.4"), ("1025.3", "1034.7")])
def test_a_published_pass_is_none(set_at, pop):
    """LER 335/2002-001, V8206 and V8209: 0.31 % and 0.92 %, +1/-3 %."""
    assert kinds(found(set_at, pop, "955.3", "1035.6")) == []


def test_a_value_that_was_never_reached_is_a_failure_and_said_as_a_bound():
    """NRC IN 96-03: "greater than +6.1 %"."""
    record = found(1000, 1061, 970, 1030, no_lift=True)
    [cause] = causes_of(record, None)
    assert cause.kind == "as_received_failure"
    assert "no lift at 1061 psig, more than +6.10 %, above 970 psig to 1030 psig" in cause.reason


@pytest.mark.parametrize(("record", "words"), [
    (AsFound("A", DAY, result="no_lift"), "no lift"),
    (AsFound("A", DAY, result="stuck_open"), "stuck open"),
    (AsFound("A", DAY, "in", "stuck_open", psig(100)), "opened at 100 psig, stuck open"),
    (AsFound("A", DAY, "undecided", "no_lift", psig(101), True), "no lift at 101 psig"),
])  # fmt: skip
def test_stuck_is_a_failure_whatever_its_pressure(record, words):
    """API RP 576 6.2.9: stuck shut, stuck open."""
    assert causes_of(record, None) == [Cause("as_received_failure", words)]


@pytest.mark.parametrize("record", [
    AsFound("A", DAY), AsFound("A", DAY, "in", "opened", psig(100)),
    AsFound("A", DAY, "", "opened", psig(150)),  # no band was in force: nothing to judge it by
    AsFound("A", DAY, "in", "leaked_first", psig(100)),
])  # fmt: skip
def test_what_is_no_failure_gives_no_cause(record):
    assert kinds(record) == []


def test_a_waived_test_is_a_cause_of_its_own():
    """API RP 576 6.2.9: too fouled to pop, waived, and the interval is shortened."""
    assert causes_of(AsFound("A", DAY, waived="fouled solid"), None) == [
        Cause("waived_test", "as-received test waived: fouled solid")
    ]
    stuck = AsFound("A", DAY, result="no_lift", waived="fouled solid")
    assert kinds(stuck) == ["waived_test", "as_received_failure"]


def test_two_in_a_row_are_one_repeated_failure():
    before = found(1205, 1165, "1168.85", "1241.15", ref="I-1", on=EARLIER)
    record = found(1205, 1137, "1168.85", "1241.15", ref="I-2")
    [cause] = causes_of(record, before)
    assert cause.kind == "repeated_failure"
    assert "1137 psig, -5.64 %" in cause.reason
    assert "the time before, 2007-10-01 (I-1), opened at 1165 psig, -3.32 %" in cause.reason


def test_after_a_pass_it_is_a_first_failure():
    before = found("1025.3", "1034.7", "955.3", "1035.6", on=EARLIER)
    assert kinds(found(1175, 1123, "1139.75", "1210.25"), before) == ["as_received_failure"]


def test_a_failure_before_makes_no_pass_a_cause():
    before = found(1175, 1123, "1139.75", "1210.25", on=EARLIER)
    assert kinds(found("1025.3", "1034.7", "955.3", "1035.6"), before) == []
