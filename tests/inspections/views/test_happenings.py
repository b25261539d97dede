"""What happens at a position beside the work: shown on its page, and told there."""

from datetime import date

import pytest

from fleet.models import CounterReading, ObligationSpan, OutOfService, Trigger
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, text

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


@pytest.fixture
def place(unit):
    return plant.due(unit, "PSV-1", date(2027, 9, 20)).position


@pytest.fixture
def mechanic(unit):
    return signed_in("mechanic", unit.site)


def page(client, place):
    return text(client.get(f"/positions/{place.pk}/"))


def send(client, place, what, **fields):
    return client.post(f"/positions/{place.pk}/{what}/", fields)


def test_those_it_does_its_duty_with_stand_with_their_dates(mechanic, unit, place):
    partner = plant.due(unit, "PSV-2", date(2026, 11, 20)).position
    pair = factories.ArrangementFactory(site=unit.site, name="C-1", kind="changeover")
    factories.ArrangementMemberFactory(arrangement=pair, position=place, role="duty")
    factories.ArrangementMemberFactory(arrangement=pair, position=partner, role="standby")
    said = page(mechanic, place)
    assert "C-1: PSV-1 is the duty." in said
    assert "PSV-2" in said and "due 20 Nov 2026" in said and "due in 20 days" in said


def test_what_is_left_while_one_is_out_stands_beside_its_arrangement(mechanic, unit, place):
    """Capacity is asked again when a device is out: 49 CFR 192.743."""
    partner = plant.due(unit, "PSV-2", date(2026, 11, 20)).position
    pair = factories.ArrangementFactory(site=unit.site, kind="changeover")
    factories.ArrangementMemberFactory(arrangement=pair, position=place, role="duty")
    factories.ArrangementMemberFactory(arrangement=pair, position=partner, role="standby")
    factories.PositionDutyFactory(
        position=place, from_on=date(2020, 1, 1), required_capacity="10000 kg/h"
    )
    said = page(mechanic, place)
    assert "If PSV-1 is out on stream" in said
    assert "the rated capacity of what is fitted at PSV-2 is not given." in said
    device = partner.installations.get().device
    for rated, words in (("12000", "is at least the required"), ("9999", "Protection falls short")):
        device.rated_capacity = f"{rated} kg/h"
        device.save()
        said = page(mechanic, place)
        assert words in said
        assert "Your procedure, the local code and a qualified person decide." in said


def test_a_position_alone_says_nothing_of_arrangements(mechanic, place):
    said = page(mechanic, place)
    assert "changeover" not in said
    assert "is out on stream" not in said
    assert "No trigger, counter reading or day out of service is recorded." in said


def test_what_happened_stands_beside_the_work_and_in_the_history(mechanic, place):
    factories.TriggerFactory(position=place, note="flared for an hour")
    factories.CounterReadingFactory(position=place, value="12.5")
    factories.CounterReadingFactory(position=place, read_on=date(2024, 3, 1), value="40")
    factories.OutOfServiceFactory(position=place, from_on=date(2024, 5, 1), how="blinded")
    said = page(mechanic, place)
    assert "flared for an hour" in said and "blinded" in said
    assert "40 on 1 Mar 2024<small>2 readings" in said
    assert "Out of service since 1 May 2024" in said
    story = mechanic.get(f"/positions/{place.pk}/").context["story"]
    told = [entry.words for entry in story.timeline]
    assert "Release" in told and "Out of service" in told


def test_the_page_costs_the_same_with_many_happenings(
    mechanic, unit, place, django_assert_num_queries, django_assert_max_num_queries
):
    pair = factories.ArrangementFactory(site=unit.site, kind="changeover")
    factories.ArrangementMemberFactory(arrangement=pair, position=place)

    def more(number):
        other = plant.due(unit, f"PSV-9{number}", date(2027, 1, 1)).position
        factories.ArrangementMemberFactory(arrangement=pair, position=other, role="standby")
        day = date(2020 + number, 1, 1)
        factories.TriggerFactory(position=place, happened_on=day)
        factories.CounterReadingFactory(position=place, read_on=day, value=number)
        factories.OutOfServiceFactory(position=place, from_on=day, to_on=date(2020 + number, 2, 1))

    more(0)
    with django_assert_max_num_queries(44) as few:
        page(mechanic, place)
    for number in (1, 2, 3, 4):
        more(number)
    with django_assert_num_queries(len(few.captured_queries)):
        page(mechanic, place)


def test_a_trigger_is_told_and_moves_the_date(mechanic, unit):
    """40 CFR 63.165(b): tested within five days of a release."""
    place = plant.position(unit, "PSV-3")
    device = plant.fitted(place)
    rule = factories.IntervalRuleFactory(
        kind="after_event", parameters={"kinds": ["release"], "days": 5}
    )
    factories.ObligationFactory(position=place, rule=rule)
    factories.ServiceEventFactory(device=device, activity="bench_test", done_on=date(2020, 1, 1))
    response = send(
        mechanic, place, "trigger", kind="release", happened_on="2026-10-30", note=" x "
    )
    assert response.status_code == 302
    told = Trigger.objects.get()
    assert (told.note, told.recorded_by) == ("x", mechanic.user)
    span = ObligationSpan.objects.known().order_by("from_on").last()
    assert span.due_on == date(2026, 11, 4)
    assert "Release on 30 Oct 2026 is recorded." in page(mechanic, place)


def reading(counter, day, value):
    return {"counter": counter, "read_on": day, "value": value}


@pytest.mark.parametrize(
    ("what", "fields", "said"),
    [
        ("trigger", {"kind": "blast", "happened_on": "2026-01-01"}, "not one of the available"),
        ("trigger", {"kind": "release", "happened_on": "2026-11-01"}, "not in the future"),
        ("trigger", {"kind": "release", "happened_on": "2024-02-26"}, "not told yet"),
        (
            "counter",
            reading("starts", "2026-01-01", "-1"),
            "expected a num",
        ),
        ("counter", reading("-", "2026-01-01", "1"), "words that say it"),
        (
            "counter",
            reading("service_days", "2024-01-01", "13"),
            "not read",
        ),
        (
            "counter",
            reading("service_days", "2024-01-02", "11"),
            "at least",
        ),
        ("counter", reading("service_days", "2023-01-02", "13"), "at most"),
        ("out-of-service", {"from_on": "2026-11-01"}, "not in the future"),
        ("out-of-service", {"from_on": "2019-05-01"}, "a day in service"),
    ],
)
def test_what_cannot_be_is_said_beside_its_field(mechanic, place, what, fields, said):
    factories.TriggerFactory(position=place)
    factories.CounterReadingFactory(position=place)
    factories.OutOfServiceFactory(position=place, from_on=date(2019, 1, 1), to_on=date(2020, 1, 1))
    response = send(mechanic, place, what, **fields)
    assert response.status_code == 422 and said in text(response)
    assert (Trigger.objects.count(), CounterReading.objects.count()) == (1, 1)
    assert OutOfService.objects.count() == 1


def test_a_counter_is_offered_again_by_its_name(mechanic, place):
    send(mechanic, place, "counter", counter="starts", read_on="2026-01-01", value="7.50")
    assert "starts" in mechanic.get(f"/positions/{place.pk}/counter/").content.decode()
    assert send(mechanic, place, "counter", counter="starts", read_on="2026-02-01",
                value="8").status_code == 302  # fmt: skip
    assert "8 on 1 Feb 2026" in page(mechanic, place)


def test_out_of_service_and_back(mechanic, place):
    assert send(mechanic, place, "out-of-service", from_on="2026-09-01", how="blinded"
                ).status_code == 302  # fmt: skip
    said = page(mechanic, place)
    assert "Out of service since 1 September 2026" in said and "Back in service" in said
    early = send(mechanic, place, "out-of-service", to_on="2026-09-01")
    assert early.status_code == 422 and "went out of service" in text(early)
    assert send(mechanic, place, "out-of-service", to_on="2026-10-01").status_code == 302
    span = OutOfService.objects.get()
    assert (span.to_on, span.closed_by, span.told_by) == (
        date(2026, 10, 1), mechanic.user, mechanic.user,
    )  # fmt: skip
    assert "Out of service until 1 Oct 2026" in page(mechanic, place)


def test_who_may_only_read_sees_no_buttons(unit, place):
    auditor = signed_in("auditor", unit.site)
    assert "Something happened" not in page(auditor, place)
