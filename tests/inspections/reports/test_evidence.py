"""The evidence on a line of the compliance list: what law asks of each test, what is missing."""

from datetime import date

import pytest

from fleet.stamps import stamp_lines
from inspections.reports.compliance import ComplianceList
from tests import factories
from tests.fleet.reports.plant import TODAY
from tests.inspections.reports.records import dated

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


def row(as_of=TODAY):
    return next(r for r in ComplianceList(as_of).every_row() if r.tag == "PSV-1")


# What 29 CFR 1910.119(j)(4)(iv) wants of each test: date, person, serial number or another
# identifier, description, result. 49 CFR 180.417(b) adds: type of device, set pressure, pressure
# at which it opened, at which it reseated, disposition.
def test_the_evidence_law_asks_for_stands_on_the_line(unit):
    dated(
        unit,
        found="152 psig",
        reseat="141 psig",
        done_by=factories.UserFactory(name="Tess Ter"),
        verified_by=factories.UserFactory(name="Vic Rify"),
    )
    line = row()
    assert (line.last_done_on, line.done_by, line.serial) == (date(2024, 3, 1), "Tess Ter", "S1")
    assert line.description == "bench test, on the bench, air"
    assert line.result == "as received not judged, no band in force (+1.33 %); as left" + (
        " not judged, no band in force (0.00 %)"
    )
    assert (line.kind, line.set_pressure) == ("spring", "150 psig")
    assert (line.opened_at, line.reseated_at) == ("152 psig", "141 psig")
    assert (line.disposition, line.verified_by, line.ref) == ("repaired", "Vic Rify", "W-1")


def test_what_the_record_should_hold_and_does_not_is_said(unit):
    dated(unit, found=None, disposition="", method="", medium="", done_by=None)
    line = row()
    assert line.done_by == "not recorded"
    assert line.description == "bench test, method not recorded, medium not recorded"
    assert line.result.startswith("as received not recorded; as left")
    assert (line.opened_at, line.reseated_at) == ("not recorded", "not recorded")
    assert line.disposition == "not recorded"


@pytest.mark.parametrize(
    ("what", "opened", "result"),
    [
        (
            {"no_lift": "225 psig"},
            "no lift at 225 psig",
            "as received opened high (above +50.00 %)",
        ),
        ({"found": None, "waived_reason": "packed"}, "waived", "as-received test waived: packed"),
        ({"found": None, "method": "maker"}, "150 psig as left", "new from the maker"),
    ],
)
def test_a_first_pop_that_is_none_is_said_as_what_it_is(unit, what, opened, result):
    dated(unit, **what)
    assert row().opened_at == opened
    assert row().result.startswith(result)


def test_a_record_accepted_on_load_says_by_whom(unit):
    dated(unit, accepted_by=factories.UserFactory(name="Lou Der"))
    assert row().verified_by == "accepted on load by Lou Der"


@pytest.mark.parametrize(
    ("recorded_on", "is_baseline", "late"),
    [
        (date(2024, 3, 31), False, "no"),  # thirty days after: in time
        (date(2024, 4, 1), False, "yes"),
        (date(2026, 10, 1), True, "no"),  # a first load is marked so and not called late
    ],
)
def test_an_entry_is_late_more_than_thirty_days_after(unit, recorded_on, is_baseline, late):
    dated(unit, recorded_on=recorded_on, is_baseline=is_baseline)
    assert row().late_entry == late


def test_the_rule_its_source_and_the_basis_of_the_interval(unit):
    obligation, _, event = dated(unit)
    line = row()
    assert (line.rule, line.interval) == ("own-5y", "no more than 5 years apart")
    assert line.source == "the owner's own (not checked against a copy)"
    assert line.interval_basis == "the rule"
    decision = factories.IntervalDecisionFactory(
        obligation=obligation,
        from_on=date(2025, 1, 1),
        interval="P3Y",
        reason="two low pops",
        decided_by=factories.UserFactory(name="Des Ider"),
    )
    span = obligation.spans.get()
    factories.ObligationSpanFactory(
        obligation=obligation,
        from_on=date(2025, 1, 1),
        state="dated",
        due_on=date(2027, 3, 1),
        last_on=date(2024, 3, 1),
        event=event,
        decision=decision,
        device=span.device,
    )
    span.superseded_at = factories.RECORDED_AT
    span.save(update_fields=["superseded_at"])
    stamp_lines([obligation.position])
    assert row().interval == "no more than 3 years apart"
    assert row().interval_basis == "decided by Des Ider from 2025-01-01: two low pops"


def test_questions_still_open_on_the_place_or_the_device_are_counted(unit):
    obligation, inspection, _ = dated(unit)
    factories.QuestionFactory(inspection=inspection, device=inspection.device)
    factories.QuestionFactory(inspection=None, site=unit.site, position=obligation.position)
    answered = factories.QuestionFactory(
        inspection=inspection, device=inspection.device, code="other"
    )
    answered.answered_at, answered.answer = factories.RECORDED_AT, "seen to"
    answered.answered_by = factories.UserFactory()
    answered.save()
    assert row().open_questions == 2
    assert row(as_of=date(2024, 3, 1)).open_questions == 2
