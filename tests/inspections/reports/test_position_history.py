"""A position's own history: each device's readings in the stay they tell of, never joined across.

What counts for a position is the rule of its clock: the installation decides, never the tag typed.
"""

from datetime import date
from fractions import Fraction

import pytest

from inspections.drawings.settings_history import settings_history
from inspections.models import Inspection
from inspections.reports.position_history import history_of
from tests import factories
from tests.fleet.drawings.reading import by_class, parsed
from tests.fleet.reports import plant
from tests.inspections.reports.records import STOP, record

pytestmark = pytest.mark.django_db
TODAY = date(2026, 10, 31)
SWAP = date(2020, 3, 1)


@pytest.fixture
def place():
    return plant.position(factories.UnitFactory(), "PSV-1")


def told(place, as_of=TODAY):
    spells = place.installations.not_voided().select_related("device__model")
    return history_of(list(spells), as_of, "/record/{}".format, "/device/{}".format)


def stay(device, place, went_in, came_out=None):
    return factories.InstallationFactory(
        device=device, position=place, installed_on=went_in, removed_on=came_out
    )


def device(number, **extra):
    return factories.DeviceFactory(number=number, **extra)


@pytest.fixture
def swapped(place):
    """S1 from 2016, found high a month after S2, tested before it, came in its place."""
    s1, s2 = device("S1"), device("S2")
    stay(s1, place, date(2016, 1, 1), SWAP)
    stay(s2, place, SWAP)
    record(s1, date(2015, 12, 1), found="140 psig", ref="A-1")
    record(s1, date(2020, 4, 1), found="160 psig", left="150 psig", ref="A-2")
    record(s2, date(2020, 2, 1), found="149 psig", left="151 psig", ref="B-1")
    record(s2, date(2024, 5, 1), found="150 psig", ref="B-2")
    return place


def test_what_a_device_was_left_at_goes_in_with_it_and_what_it_was_found_at_comes_out(swapped):
    (pops,) = told(swapped).panels
    assert [(p.run.device, p.stage, p.day, p.value) for p in pops.ordered] == [
        ("S1", "as_left", date(2015, 12, 1), 0),
        ("S1", "as_found", date(2020, 4, 1), Fraction(20, 3)),
        ("S2", "as_left", date(2020, 2, 1), Fraction(2, 3)),
        ("S2", "as_found", date(2024, 5, 1), 0),
        ("S2", "as_left", date(2024, 5, 1), 0),
    ]


def test_a_reading_in_the_shop_stands_on_the_day_of_the_move_and_says_its_own(swapped):
    left, found, came = told(swapped).panels[0].ordered[:3]
    assert (left.on, found.on, came.on) == (date(2016, 1, 1), SWAP, SWAP)
    assert found.label == (
        "S1, as found 1 Apr 2020, A-2: 160 psig, +6.7 %, high, out by 1 Mar 2020"
    )
    assert came.label.endswith("fitted 1 Mar 2020")


def test_a_change_of_device_is_a_cut_that_names_who_came(swapped):
    assert told(swapped).panels[0].cuts == ((SWAP, "S2 fitted"),)


def test_nothing_is_joined_across_a_change_of_device(swapped):
    history = told(swapped)
    root = parsed(settings_history(history.panels, TODAY).panels[0].scene)
    assert len(by_class(root, "service")) == 2, "S1 to its as-found, S2 to its own"
    assert len(by_class(root, "shop")) == 1, "only what was done to S2 here"
    first, second = by_class(root, "service")
    assert float(first.get("x2")[:-1]) < float(second.get("x1")[:-1])


def test_what_the_position_saw_is_said(swapped):
    assert told(swapped).said == "2 devices in 10 years; 1 of 2 first pops out of tolerance, high."


def test_every_mark_opens_its_record_and_every_stay_its_device(swapped):
    history = told(swapped)
    refs = dict(Inspection.objects.values_list("ref", "pk"))
    assert [p.href for p in history.panels[0].ordered][:3] == [
        f"/record/{refs[ref]}" for ref in ("A-1", "A-2", "B-1")
    ]
    assert [run.href for run in history.runs] == [
        f"/device/{spell.device_id}" for spell in swapped.installations.order_by("installed_on")
    ]


def test_the_tag_typed_on_a_sheet_decides_nothing(place):
    """S1 is overhauled with this position's tag on its sheet, after it has gone to another."""
    other = plant.position(place.unit, "PSV-2")
    s1 = device("S1")
    stay(s1, place, date(2016, 1, 1), date(2018, 1, 1))
    stay(s1, other, date(2018, 6, 1))
    record(s1, date(2020, 1, 1), found="170 psig", tag_typed="PSV-1", position=place)
    assert not told(place).panels
    assert told(place).said == "1 device in 10 years; no first pop was judged here."
    assert len(told(other).panels[0].points) == 2


def test_a_fitting_that_is_still_to_come_counts_for_nothing(place):
    s1 = device("S1")
    record(s1, date(2016, 1, 1))
    stay(s1, place, date(2027, 1, 1))
    assert told(place) is None
    assert told(place, date(2027, 2, 1)).said.startswith("1 device in less than a year")


def test_a_position_where_nothing_was_ever_fitted_asks_nothing(place, django_assert_num_queries):
    with django_assert_num_queries(0):
        assert history_of([], TODAY, str, str) is None


def test_of_discs_alone_no_pop_is_missed(place):
    stay(device("D1", kind="rupture_disc"), place, date(2018, 1, 1), date(2021, 1, 1))
    stay(device("D2", kind="rupture_disc"), place, date(2021, 1, 1))
    assert told(place).said == "2 devices in 8 years."


def test_a_device_that_came_back_is_named_again(place):
    s1, s2 = device("S1"), device("S2")
    stay(s1, place, date(2016, 1, 1), date(2018, 1, 1))
    stay(s2, place, date(2018, 1, 1), date(2020, 1, 1))
    stay(s1, place, date(2020, 1, 1))
    record(s1, date(2018, 2, 1), found="150 psig", left="150 psig")
    record(s1, date(2024, 1, 1), found="140 psig")
    history = told(place)
    assert [cut.reason for cut in history.panels[0].cuts] == ["S2 fitted", "S1 fitted"]
    assert history.said == "2 devices in 10 years; 1 of 2 first pops out of tolerance, low."
    root = parsed(settings_history(history.panels, TODAY).panels[0].scene)
    assert len(by_class(root, "service")) == 1, "not through the stay of the other"


def test_out_for_an_overhaul_and_in_again_is_one_stay_with_its_shop_line(place):
    s1 = device("S1")
    stay(s1, place, date(2016, 1, 1), date(2020, 1, 1))
    stay(s1, place, date(2020, 2, 1))
    record(s1, date(2020, 1, 15), found="149 psig")
    history = told(place)
    assert not history.panels[0].cuts and len(history.runs) == 1
    root = parsed(settings_history(history.panels, TODAY).panels[0].scene)
    assert len(by_class(root, "shop")) == 1


def rings(place, *, models, datums=(STOP, STOP)):
    for number, model, datum, went_in, came_out in zip(
        ("S1", "S2"), models, datums, (date(2016, 1, 1), SWAP), (SWAP, None), strict=True
    ):
        one = device(number, model=model)
        stay(one, place, went_in, came_out)
        middle = went_in.replace(year=went_in.year + 2)
        record(one, middle, rings=("8 notches", "9 notches"), datum=datum)
    return told(place)


def test_settings_are_drawn_where_model_and_datum_are_the_same(place):
    model = factories.DeviceModelFactory()
    history = rings(place, models=(model, model))
    pops, ring = history.panels
    assert ring.title == "Lower ring" and len(ring.points) == 4 and not history.undrawn
    assert ring.cuts == pops.cuts == ((SWAP, "S2 fitted"),)


def test_settings_of_another_model_are_not_drawn_and_that_is_said(place):
    models = factories.DeviceModelFactory(), factories.DeviceModelFactory()
    history = rings(place, models=models)
    assert [panel.title for panel in history.panels] == ["Set pressure"]
    assert "not of one model" in history.undrawn[0]


def test_unknown_models_are_not_taken_for_one(place):
    assert "not of one model" in rings(place, models=(None, None)).undrawn[0]


@pytest.mark.parametrize("datums", [(STOP, "seat"), ("", ""), (STOP, "")])
def test_settings_of_another_datum_or_of_none_are_not_drawn(place, datums):
    model = factories.DeviceModelFactory()
    history = rings(place, models=(model, model), datums=datums)
    assert [panel.title for panel in history.panels] == ["Set pressure"]
    assert history.undrawn == [
        "Lower ring is not drawn: it was not counted from one datum throughout."
    ]


def test_missing_and_undecided_first_pops_are_counted_apart(place):
    s1 = device("S1")
    stay(s1, place, date(2010, 1, 1))
    record(s1, date(2012, 1, 1), found=None)
    record(s1, date(2014, 1, 1), band=None)
    record(s1, date(2016, 1, 1), found="160 psig")
    record(s1, date(2018, 1, 1), found="130 psig")
    assert told(place).said == (
        "1 device in 16 years; 2 of 2 first pops out of tolerance, 1 high and 1 low;"
        " 1 more first pop could not be judged; 1 record without a first pop."
    )


def test_long_histories_cost_the_queries_of_short_ones(place, django_assert_max_num_queries):
    s1 = device("S1")
    stay(s1, place, date(2000, 1, 1), date(2002, 1, 1))
    record(s1, date(2001, 1, 1), rings=("8 notches", "9 notches"))
    with django_assert_max_num_queries(8) as few:
        told(place)
    for year in range(2002, 2022, 2):
        other = device(f"D{year}", model=factories.DeviceModelFactory())
        stay(other, place, date(year, 1, 1), date(year + 2, 1, 1))
        record(other, date(year, 6, 1), rings=("8 notches", "9 notches"))
        record(other, date(year + 1, 6, 1), rings=("8 notches", "9 notches"))
    with django_assert_max_num_queries(len(few.captured_queries)):
        told(place)
