"""Who is offered a week on stream.

The measure is 49 CFR 192.743 (capacity is asked again when a device is out) and API RP 576 6.2.2
(alternate protection before a block valve is closed); that nothing is offered on missing figures is
the house's own caution.
"""

from datetime import date
from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.reports.on_stream import EXCHANGE, on_stream_at
from tests import factories
from tests.fleet.reports.protected import arranged, place
from tests.fleet.reports.test_spares import SIZES, spare

pytestmark = pytest.mark.django_db
DAY = date(2026, 10, 31)


@pytest.fixture
def unit():
    return factories.UnitFactory()


def offer(position, day=DAY):
    return on_stream_at([position.pk], day).offers.get(position.pk)


def changeover(unit, a, b, **extra):
    pair = place(unit, *a, **extra), place(unit, *b, status="standby", **extra)
    arranged("changeover", "duty standby", *pair)
    return pair


def with_spare(unit, rated="12000 kg/h", required="10000 kg/h", **extra):
    return place(unit, rated, required, isolation="block_with_spare", **{**SIZES, **extra})


class TestChangeover:
    def test_it_is_offered_where_the_standby_is_rated_for_the_duty(self, unit):
        duty, standby = changeover(unit, ("12000 kg/h", "10000 kg/h"), ("11000 kg/h",))
        assert offer(duty).is_offered
        assert "11000 kg/h, is at least the required 10000 kg/h" in offer(duty).words
        assert offer(standby).is_offered

    def test_it_is_not_offered_where_the_standby_is_too_small(self, unit):
        duty, _ = changeover(unit, ("12000 kg/h", "10000 kg/h"), ("9999 kg/h",))
        assert not offer(duty).is_offered

    def test_one_at_a_time(self, unit):
        pair = changeover(unit, ("12000 kg/h", "10000 kg/h"), ("11000 kg/h",))
        (room,) = on_stream_at([row.pk for row in pair], DAY).rooms
        assert (room.amounts, room.room) == (dict.fromkeys([row.pk for row in pair], 1), 1)

    def test_without_an_arrangement_nobody_knows_what_takes_over(self, unit):
        found = offer(place(unit, "12000 kg/h", "10000 kg/h"))
        assert not found.is_offered
        assert found.words.startswith("no arrangement names what takes over on its changeover")

    def test_unknown_capacity_is_not_offered_and_says_what_is_missing(self, unit):
        duty, standby = changeover(unit, ("12000 kg/h", "10000 kg/h"), ("",))
        assert not offer(duty).is_offered
        assert offer(duty).words == (
            f"the rated capacity of what is fitted at {standby.tag} is not given"
        )

    def test_like_devices_without_any_capacity_are_offered_with_a_warning(self, unit):
        model = factories.DeviceModelFactory()
        duty, _ = changeover(unit, (), (), model=model, orifice="J")
        assert offer(duty).is_offered
        assert "rated capacities are not given" in offer(duty).words

    def test_unlike_devices_without_any_capacity_are_not(self, unit):
        duty, _ = changeover(unit, (), (), orifice="J")  # each of a model of its own
        assert not offer(duty).is_offered

    def test_a_standby_past_its_own_date_is_a_warning(self, unit):
        duty, standby = changeover(unit, ("12000 kg/h", "10000 kg/h"), ("11000 kg/h",))
        obligation = factories.ObligationFactory(position=standby)
        factories.DueLineFactory(
            obligation=obligation, state="dated", due_on=date(2026, 9, 1), order_on=date(2026, 9, 1)
        )
        assert offer(duty).warnings == (
            f"{standby.tag} stays in service, but its bench test is past its date, 2026-09-01",
        )


class TestBlockValveWithSpare:
    def test_a_spare_that_fits_stands_in_and_the_exchange_is_warned_of(self, unit):
        row, device = with_spare(unit), spare(unit, rated_capacity="10000 kg/h")
        found = offer(row)
        assert found.is_offered
        assert found.spares == (device.pk,)
        assert found.warnings == (EXCHANGE,)

    def test_no_spare_no_offer(self, unit):
        found = offer(with_spare(unit))
        assert not found.is_offered
        assert found.words == (
            "nothing else stays in service here, and no spare stands in: nothing on the shelf is of"
            " its kind and set pressure"
        )

    @pytest.mark.parametrize("rated", ["9999 kg/h", "", "10000 scfm"])
    def test_a_spare_not_known_to_be_rated_for_it_does_not_stand_in(self, unit, rated):
        row = with_spare(unit)
        spare(unit, rated_capacity=rated or None)
        assert not offer(row).is_offered

    def test_without_a_required_capacity_it_must_match_what_it_stands_in_for(self, unit):
        row, lesser = with_spare(unit, required=""), spare(unit, rated_capacity="11999 kg/h")
        assert not offer(row).is_offered
        lesser.rated_capacity = "12000 kg/h"
        lesser.save()
        assert offer(row).is_offered

    def test_as_many_in_a_week_as_there_are_spares(self, unit):
        rows = [with_spare(unit) for _ in range(3)]
        for _ in range(2):
            spare(unit, rated_capacity="10000 kg/h")
        found = on_stream_at([row.pk for row in rows], DAY)
        (room,) = found.rooms
        assert (room.amounts, room.room) == (dict.fromkeys([row.pk for row in rows], 1), 2)

    def test_several_that_share_need_no_spare_while_the_others_cover(self, unit):
        a, b, c = (place(unit, "6000 kg/h", isolation="block_with_spare") for _ in range(3))
        factories.PositionDutyFactory(
            position=a,
            from_on=date(2020, 1, 1),
            required_capacity="10000 kg/h",
            isolation="block_with_spare",
        )
        arranged("multiple", "duty additional additional", a, b, c)
        found = on_stream_at([a.pk, b.pk, c.pk], DAY)
        assert all(one.is_offered and not one.spares for one in found.offers.values())
        (room,) = found.rooms
        assert (set(room.amounts.values()), room.room) == ({Fraction(6000)}, Fraction(8000))


@pytest.mark.parametrize("isolation", ["none", "block"])
def test_what_cannot_be_isolated_is_offered_nothing(unit, isolation):
    assert offer(place(unit, "12000 kg/h", "10000 kg/h", isolation=isolation)) is None


def test_nothing_is_worded_as_permission(unit):
    duty, _ = changeover(unit, ("12000 kg/h", "10000 kg/h"), ("11000 kg/h",))
    row = with_spare(unit)
    spare(unit, rated_capacity="10000 kg/h")
    for one in (offer(duty), offer(row)):
        said = " ".join([one.words, *one.warnings]).casefold().split()
        assert not {"may", "allowed", "safe", "permitted", "ok"} & set(said)


def test_many_positions_cost_no_more_queries_than_few(unit):
    rows = [with_spare(unit) for _ in range(6)]
    pairs = [changeover(unit, ("12 kg/h", "10 kg/h"), ("11 kg/h",)) for _ in range(6)]
    spare(unit, rated_capacity="10000 kg/h")
    counted = []
    for some in ([rows[0], *pairs[0]], [*rows, *(row for pair in pairs for row in pair)]):
        with CaptureQueriesContext(connection) as caught:
            on_stream_at([row.pk for row in some], DAY)
        counted.append(len(caught))
    assert counted[0] == counted[1] <= 30


def test_of_a_changeover_whose_figures_are_missing_one_at_a_time_is_kept_to(unit):
    pair = changeover(unit, ("", "10000 kg/h"), ("",))
    found = on_stream_at([row.pk for row in pair], DAY)
    assert all(one.is_unknown and not one.is_offered for one in found.offers.values())
    (room,) = found.rooms
    assert (room.amounts, room.room) == (dict.fromkeys([row.pk for row in pair], 1), 1)


@pytest.mark.parametrize(
    ("a", "b"), [(("12 kg/h",), ("11 kg/h",)), (("12 kg/h", "10 kg/h"), ("12 scfm",))]
)
def test_a_figure_that_speaks_against_it_is_not_unknown(unit, a, b):
    duty, _ = changeover(unit, a, b)
    assert (offer(duty).is_offered, offer(duty).is_unknown) == (False, False)
