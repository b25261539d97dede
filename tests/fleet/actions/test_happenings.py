"""Triggers, counter readings and days out of service: written once, checked, replayed."""

from datetime import UTC, date, datetime

import pytest

from fleet.actions import happenings
from fleet.faults import Refused
from fleet.models import AuditEntry, CounterReading, ObligationSpan, OutOfService, Trigger
from tests import factories

pytestmark = pytest.mark.django_db
AT = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture
def by():
    return factories.UserFactory()


@pytest.fixture
def place():
    """A valve under a rule of the owner's own that stops while the position is out of service."""
    spell = factories.InstallationFactory()
    factories.PositionDutyFactory(position=spell.position)
    factories.ServiceEventFactory(
        device=spell.device, activity="bench_test", done_on=date(2022, 1, 1)
    )
    factories.ObligationFactory(position=spell.position, activity="bench_test")
    return spell.position


def fields(refused):
    return [fault.field for fault in refused.value.faults]


def out(place, from_on, to_on=None):
    return OutOfService(position=place, from_on=from_on, to_on=to_on)


def states(place):
    spans = ObligationSpan.objects.known().filter(obligation__position=place).order_by("from_on")
    return [(span.from_on, span.state) for span in spans if span.from_on > date(2022, 1, 1)]


def test_out_of_service_and_back_are_replayed(place, by):
    span = out(place, date(2023, 1, 1))
    happenings.lay_up([span], by=by, at=AT)
    assert states(place) == [(date(2023, 1, 1), "not_required")]
    happenings.bring_back([(span, date(2023, 6, 1))], by=by, at=AT)
    assert states(place)[0] == (date(2023, 1, 1), "not_required")
    assert states(place)[1] == (date(2023, 6, 1), "dated")
    span.refresh_from_db()
    assert (span.closed_by, span.closed_at) == (by, AT)
    actions = AuditEntry.objects.order_by("number").values_list("action", flat=True)
    assert list(actions) == ["out of service", "back in service"]


def test_it_comes_back_once(place, by):
    span = out(place, date(2023, 1, 1))
    happenings.lay_up([span], by=by, at=AT)
    happenings.bring_back([(span, date(2023, 6, 1))], by=by, at=AT)
    with pytest.raises(Refused) as refused:
        happenings.bring_back([(span, date(2023, 7, 1))], by=by, at=AT)
    assert fields(refused) == ["to_on"]


@pytest.mark.parametrize("to_on", [date(2023, 1, 1), date(2022, 1, 1), date(2026, 11, 26)])
def test_it_comes_back_after_it_went_and_not_tomorrow(place, by, to_on):
    with pytest.raises(Refused) as refused:
        happenings.lay_up([out(place, date(2023, 1, 1), to_on)], by=by, at=AT)
    assert fields(refused) == ["to_on"]


def test_spans_share_no_day_half_open(place, by):
    happenings.lay_up([out(place, date(2023, 1, 1), date(2023, 2, 1))], by=by, at=AT)
    happenings.lay_up([out(place, date(2023, 2, 1), date(2023, 3, 1))], by=by, at=AT)
    with pytest.raises(Refused) as refused:
        happenings.lay_up([out(place, date(2023, 2, 28))], by=by, at=AT)
    assert fields(refused) == ["from_on"]


def test_nothing_happens_tomorrow(place, by):
    day = date(2026, 11, 26)
    for write, row, field in (
        (happenings.tell, Trigger(position=place, kind="release", happened_on=day), "happened_on"),
        (happenings.read, reading(place, day, 1), "read_on"),
        (happenings.lay_up, out(place, day), "from_on"),
    ):
        with pytest.raises(Refused) as refused:
            write([row], by=by, at=AT)
        assert fields(refused) == [field]


def reading(place, day, value, counter="starts"):
    return CounterReading(position=place, counter=counter, read_on=day, value=value)


def test_a_counter_never_runs_back_against_what_stands(place, by):
    rows = [reading(place, date(2023, 1, 1), 10), reading(place, date(2023, 3, 1), 20)]
    happenings.read(rows, by=by, at=AT)
    for day, value in ((date(2023, 2, 1), 9), (date(2023, 2, 1), 21), (date(2024, 1, 1), 19)):
        with pytest.raises(Refused) as refused:
            happenings.read([reading(place, day, value)], by=by, at=AT)
        assert fields(refused) == ["value"]
    happenings.read([reading(place, date(2023, 2, 1), 10)], by=by, at=AT)  # it may stand still
    happenings.read([reading(place, date(2023, 2, 1), 1, "hours")], by=by, at=AT)


def test_what_is_told_is_told_once(place, by):
    def told():
        return Trigger(position=place, kind="release", happened_on=date(2024, 2, 26))

    happenings.tell([told()], by=by, at=AT)
    with pytest.raises(Refused) as refused:
        happenings.tell([told()], by=by, at=AT)
    assert fields(refused) == ["happened_on"]
    row = reading(place, date(2023, 1, 1), 10)
    happenings.read([row], by=by, at=AT)
    with pytest.raises(Refused) as refused:
        happenings.read([reading(place, date(2023, 1, 1), 10)], by=by, at=AT)
    assert fields(refused) == ["read_on"]
