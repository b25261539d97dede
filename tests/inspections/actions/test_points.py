"""Setting a model up: what is refused, and that records keep the datum they were read in.

The ring of 32 notches on 16 threads/in: 0.00195 in a notch (thread arithmetic).
"""

import pytest

from fleet.calc.units import parse_quantity
from fleet.faults import Refused
from fleet.models import AuditEntry
from inspections.actions.points import set_up
from inspections.actions.targets import targets_of
from inspections.models import SettingPoint
from inspections.models.readings import MEASURES
from inspections.reports.points import points_of
from tests import factories
from tests.inspections.shop import AT, Shop

pytestmark = pytest.mark.django_db
QUANTITIES = ("resolution", "limit_low", "limit_high", "lead")


@pytest.fixture
def model():
    return factories.DeviceModelFactory()


def given(model, **columns):
    columns = {"setting": "lower_ring", "measure": "notches", "datum": "stop"} | columns
    for name in QUANTITIES:
        if name in columns:
            columns[name] = parse_quantity(columns[name], MEASURES)
    return SettingPoint(model=model, **({"positive": "up"} | columns))


def saved(point):
    return set_up(point, by=factories.UserFactory(), at=AT)


def test_a_point_is_set_up_with_its_thread_and_in_the_chain(model):
    saved(given(model, notches_per_turn=32, lead="1/16 in", synonyms="warn ring"))
    [row] = points_of(model)
    assert row.height == "0.00195 in a notch"
    assert AuditEntry.objects.latest("number").action == "setting point saved"


def test_height_of_a_turn_and_nothing_where_the_thread_is_unknown(model):
    saved(given(model, setting="compression_screw", measure="turns", lead="1/8 in"))
    saved(given(model, lead="1/16 in"))  # nobody counted its notches
    assert [row.height for row in points_of(model)] == ["1/8 in a turn", ""]


@pytest.mark.parametrize(
    ("columns", "field", "words"),
    [
        ({"setting": "adjusting_ring"}, "setting", "which ring?"),
        ({"setting": "blowdown_ring"}, "setting", "which ring?"),
        ({"setting": "set_pressure"}, "setting", "a plain word"),
        ({"setting": "1"}, "setting", "a plain word"),
        ({"datum": " "}, "datum", "where it is counted from"),
        ({"resolution": "1/64 in"}, "resolution", "a value in notches"),
        ({"resolution": "0 notches"}, "resolution", "more than nothing"),
        ({"limit_low": "3 notches"}, "source", "a limit has a source"),
        (
            {"limit_low": "9 notches", "limit_high": "3 notches", "source": "manual"},
            "limit_high",
            "not below the low end",
        ),
        ({"lead": "-1/16 in"}, "lead", "more than nothing"),
        ({"measure": "length", "lead": "1/16 in"}, "lead", "not counted on a thread"),
        ({"measure": "turns", "notches_per_turn": 32}, "notches_per_turn", "not counted in"),
    ],
)
def test_what_is_wrong_is_said_at_its_field(model, columns, field, words):
    with pytest.raises(Refused) as refused:
        saved(given(model, **columns))
    [fault] = refused.value.faults
    assert fault.field == field and words in fault.expected
    assert not SettingPoint.objects.exists()


def test_a_model_has_one_ring_or_two(model):
    saved(given(model))
    with pytest.raises(Refused, match="one ring or two"):
        saved(given(model, setting="single_ring"))
    saved(given(model, setting="upper_ring"))


def test_a_name_means_one_setting_of_a_model_and_anything_on_another(model):
    saved(given(model, synonyms="adjusting ring"))
    with pytest.raises(Refused, match="that is the lower ring"):
        saved(given(model, setting="upper_ring", synonyms="Adjusting  Ring"))
    with pytest.raises(Refused, match="does not have yet"):
        saved(given(model))
    other = factories.DeviceModelFactory()
    saved(given(other, setting="upper_ring", synonyms="adjusting ring"))


def test_a_datum_that_changes_on_the_model_leaves_every_record_as_it_was():
    shop = Shop()
    point = shop.point()
    old = shop.finish(
        shop.open("overhaul"),
        settings={("lower_ring", "as_found"): "5 notches", ("lower_ring", "as_left"): "5 notches"},
    )
    point.datum = "flat laid on the seat"
    saved(point)
    assert set(old.settings.values_list("datum", flat=True)) == {"ring touching the disc holder"}
    [target] = targets_of(shop.open("overhaul"))
    assert (target.datum, target.value_datum) == (point.datum, "ring touching the disc holder")
    found = target.compared(target.value, "")
    assert found.words == (
        "not comparable: datum was ring touching the disc holder, now flat laid on the seat"
    )
