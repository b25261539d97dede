"""What the replay is told about a position: nothing is needed before it entered service."""

from datetime import date

import pytest

from fleet import ledger
from fleet.models import ObligationSpan
from tests import factories

pytestmark = pytest.mark.django_db
ENTERED = date(2018, 6, 11)


def states(position, at):
    ledger.replay_positions([position.pk], at=at)
    spans = ObligationSpan.objects.known().filter(obligation__position=position)
    return [(span.from_on, span.state) for span in spans.order_by("from_on")]


@pytest.fixture
def place():
    place = factories.PositionFactory(in_service_on=ENTERED)
    factories.ObligationFactory(position=place)
    return place


def test_before_it_entered_service_a_position_needs_nothing(place):
    duty = factories.PositionDutyFactory(position=place)
    assert states(place, duty.recorded_at) == [
        (date.min, "not_required"),
        (ENTERED, "no_device"),
    ]


def test_the_duty_that_held_on_the_first_day_decides_from_then_on(place):
    duty = factories.PositionDutyFactory(position=place)
    factories.PositionDutyFactory(position=place, from_on=date(2017, 1, 1), status="out_of_service")
    factories.PositionDutyFactory(position=place, from_on=date(2020, 1, 1))
    assert states(place, duty.recorded_at) == [
        (date.min, "not_required"),
        (date(2020, 1, 1), "no_device"),
    ]


def test_a_duty_that_begins_on_the_first_day_is_the_one_that_holds(place):
    duty = factories.PositionDutyFactory(position=place)
    factories.PositionDutyFactory(position=place, from_on=ENTERED, status="out_of_service")
    assert states(place, duty.recorded_at) == [(date.min, "not_required")]
