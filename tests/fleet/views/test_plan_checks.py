"""The page of a plan's checks; what they rest on stands with the checks themselves."""

from datetime import date

import pytest

from tests import factories
from tests.fleet.reports.test_on_stream import changeover
from tests.fleet.views.signed_in import signed_in, words

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 11, 2)


@pytest.fixture
def unit():
    return factories.UnitFactory()


def online(plan, position):
    owed = factories.ObligationFactory(position=position)
    return factories.PlannedJobFactory(
        plan=plan, obligation=owed, status="online", planned_on=MONDAY, outage=None, hours="4"
    )


def asked(unit, *positions):
    plan = factories.PlanFactory(site=unit.site, from_on=date(2026, 10, 31))
    for row in positions:
        online(plan, row)
    return signed_in("planner", unit.site).get(f"/plans/{plan.pk}/checks/")


def test_what_is_to_settle_is_said_with_the_positions(unit):
    pair = changeover(unit, ("12 kg/h", "10 kg/h"), ("11 kg/h",))
    said = words(asked(unit, *pair))
    assert "1 to settle before it is accepted" in said
    assert f"With {pair[0].tag}, {pair[1].tag} out on stream, nothing else stays" in said
    assert "Your procedure, the maker's instructions and the local code rule." in said


def test_a_sound_plan_says_so_and_nothing_of_permission(unit):
    duty, _ = changeover(unit, ("12 kg/h", "10 kg/h"), ("11 kg/h",))
    assert "Nothing in it falls short of these checks." in words(asked(unit, duty))
