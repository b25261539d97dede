"""Replacing a rule or a tolerance from a day on: past days keep what then held."""

from datetime import UTC, date, datetime

import pytest

from fleet import ledger
from fleet.actions import rules
from fleet.faults import Refused
from fleet.models import (
    AuditEntry,
    IntervalRule,
    Obligation,
    ObligationSpan,
    Position,
    PositionDuty,
    ToleranceBand,
)
from fleet.reports import proof
from tests import factories

pytestmark = pytest.mark.django_db
AT = datetime(2026, 11, 25, 12, tzinfo=UTC)
DAY = date(2024, 1, 1)


@pytest.fixture
def by():
    return factories.UserFactory()


def own(code, gap="P3Y", **extra):
    return IntervalRule(code=code, kind="max_gap", parameters={"gap": gap}, **extra)


def band(code, **definition):
    definition = {"basis": "gauge", "bands": [{"low": "-1 %", "high": "1 %"}]} | definition
    return ToleranceBand(code=code, definition=definition, citation="ours")


@pytest.fixture
def owed():
    """One test on 2022-01-01, owed every five years."""
    rule = factories.IntervalRuleFactory(code="old", kind="max_gap", parameters={"gap": "P5Y"})
    spell = factories.InstallationFactory()
    place = spell.position
    factories.PositionDutyFactory(position=place)
    factories.ServiceEventFactory(
        device=spell.device, activity="bench_test", done_on=date(2022, 1, 1)
    )
    return factories.ObligationFactory(position=place, rule=rule, activity="bench_test")


def due_on(place, day):
    spans = ObligationSpan.objects.known().filter(obligation__position=place).on(day)
    return spans.get().due_on


def words_of(refused):
    return [(fault.field, fault.expected) for fault in refused.value.faults]


def test_a_replaced_rule_moves_what_is_owed_and_replays_it(owed, by):
    new = own("new", citation="ours")
    places = rules.replace_rule(owed.rule, new, DAY, by=by, at=AT)
    assert places == {owed.position_id}
    assert due_on(owed.position, date(2023, 12, 31)) == date(2027, 1, 1)
    assert due_on(owed.position, DAY) == date(2025, 1, 1)
    assert (new.replaces, new.from_on) == (owed.rule, DAY)
    assert not ledger.differences(list(Position.objects.all()))
    actions = list(AuditEntry.objects.order_by("number").values_list("action", flat=True))
    assert actions == ["rule replaced", "obligation ended", "obligation added"]


def test_parameters_are_kept_as_the_shape_says_them(by):
    rule = own("new", citation="ours")
    rule.parameters = {"out_of_service": "stop", "gap": "P3Y"}
    rules.add_rules([rule], by=by, at=AT)
    assert IntervalRule.objects.get().parameters == {"gap": "P3Y"}


def test_nothing_is_half_done(owed, by):
    factories.IntervalDecisionFactory(obligation=owed, from_on=date(2023, 1, 1), interval="P4Y")
    with pytest.raises(Refused) as refused:
        rules.replace_rule(owed.rule, own("new"), DAY, by=by, at=AT)
    ((field, words),) = words_of(refused)
    assert field == "replaces" and owed.position.tag in words
    assert IntervalRule.objects.count() == 1 and Obligation.objects.get().until_on is None


@pytest.mark.parametrize("kind", ["before_use", "group_sample"])
def test_a_rule_that_asks_for_more_cannot_take_over(owed, by, kind):
    """Nobody has said in which season, or in which group."""
    parameters = {
        "before_use": {"lead": "P0D", "window": "P6M"},
        "group_sample": {"fraction": "0.20", "window": "P24M", "gap": "P5Y", "expansion": 2,
                         "band": "3 %"},
    }[kind]  # fmt: skip
    new = IntervalRule(code="new", kind=kind, parameters=parameters)
    with pytest.raises(Refused) as refused:
        rules.replace_rule(owed.rule, new, DAY, by=by, at=AT)
    assert owed.position.tag in words_of(refused)[0][1]


@pytest.mark.parametrize("code", ["old", "us-49cfr192.739", " "])
def test_an_id_is_new(owed, by, code):
    with pytest.raises(Refused) as refused:
        rules.add_rules([own(code)], by=by, at=AT)
    assert words_of(refused)[0][0] == "id"


def test_a_replaced_tolerance_holds_from_a_day_on(by):
    old = factories.ToleranceBandFactory(code="old")
    first, other = factories.PositionDutyFactory(tolerance=old), factories.PositionDutyFactory()
    moved = factories.PositionDutyFactory(tolerance=old)
    factories.PositionDutyFactory(position=moved.position, from_on=date(2020, 1, 1))  # left it
    new = band("new")
    places = rules.replace_tolerance(old, new, DAY, by=by, at=AT, moc="M-7")
    assert places == {first.position_id}
    later = PositionDuty.objects.get(position=first.position, from_on=DAY)
    assert (later.tolerance, later.moc, str(later.set_pressure)) == (new, "M-7", "150 psig")
    assert PositionDuty.objects.filter(position=other.position).count() == 1
    assert (new.replaces, new.from_on) == (old, DAY)


@pytest.mark.parametrize("day", [DAY, date(2025, 1, 1)])
def test_a_later_duty_that_names_the_old_tolerance_stands_in_the_way(by, day):
    """It is never rewritten, and would silently take the old tolerance up again."""
    old = factories.ToleranceBandFactory(code="old")
    first = factories.PositionDutyFactory(tolerance=old)
    factories.PositionDutyFactory(position=first.position, tolerance=old, from_on=day)
    with pytest.raises(Refused) as refused:
        rules.replace_tolerance(old, band("new"), DAY, by=by, at=AT)
    ((field, words),) = words_of(refused)
    assert field == "from_on" and str(day) in words and first.position.tag in words
    assert ToleranceBand.objects.count() == 1


def test_a_tolerance_that_cannot_be_is_refused_by_its_part(by):
    with pytest.raises(Refused) as refused:
        rules.add_tolerances([band("new", bands=[{"low": "1 %", "high": "1 %"}])], by=by, at=AT)
    assert words_of(refused)[0][0] == "low"


def test_all_of_it_is_in_the_proof(by):
    """The chain and every audited table agree."""
    rule = own("new", citation="ours")
    rules.add_rules([rule], by=by, at=AT)
    rules.add_tolerances([band("b")], by=by, at=AT)
    tables = {"fleet_intervalrule", "fleet_toleranceband"}
    said = [str(difference) for difference in proof.differences()]
    assert not [words for words in said if any(table in words for table in tables)]
