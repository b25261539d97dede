"""A series as it is drawn: percent in the band of each day, cuts, and what is missing."""

from datetime import date
from fractions import Fraction

import pytest

from fleet.models import Device
from inspections.drawings.panels import Band
from inspections.reports.panels import panel_of
from inspections.reports.settings import review
from tests import factories
from tests.inspections.reports.records import record, yearly

pytestmark = pytest.mark.django_db


@pytest.fixture
def device():
    return factories.DeviceFactory(number="D-1")


def panel(setting="set_pressure"):
    rows = review(date(2026, 10, 31), Device.objects.all())
    row = next(r for r in rows if r.setting == setting)
    return panel_of(row.one, row.point, lambda ref: f"/{ref}/")


def test_pops_stand_in_percent_of_their_days_cold_test_pressure(device):
    record(device, date(2015, 3, 1), found="147 psig", left="150 psig", ref="W-1")
    record(device, date(2016, 3, 1), found="208 psig", left="200 psig", cdtp="200 psig", ref="W-2")
    points = panel().points
    assert [p.value for p in points] == [Fraction(-2), 0, 4, 0]
    assert points[0].figure == "−2.0 %"
    assert points[0].label == "as found 1 Mar 2015, W-1: 147 psig, −2.0 %"
    assert points[0].href == "/W-1/"


def test_the_band_of_each_day_is_drawn_until_a_visit_had_another(device):
    record(device, date(2015, 3, 1))
    record(device, date(2016, 3, 1))
    record(device, date(2017, 3, 1), found="160 psig", band=("135 psig", "165 psig"))
    assert panel().bands == (
        Band(None, date(2017, 3, 1), Fraction(-3), Fraction(3)),
        Band(date(2017, 3, 1), None, Fraction(-10), Fraction(10)),
    )
    assert not any(point.outside for point in panel().points)


def test_outside_is_what_the_band_of_the_day_says(device):
    record(device, date(2015, 3, 1), found="160 psig")
    assert [p.outside for p in panel().points] == [True, False]


def test_a_pop_that_did_not_come_is_drawn_as_a_bound(device):
    record(device, date(2015, 3, 1), no_lift="225 psig")
    first = panel().points[0]
    assert first.censored and first.value == 50
    assert "no lift at 225 psig" in first.label


def test_a_missing_reading_is_drawn_as_missing_with_its_reason(device):
    record(device, date(2015, 3, 1), found=None, waived_reason="packed solid")
    first = panel().points[0]
    assert first.value is None and not first.unplaced
    assert first.remark == "test waived, packed solid"


def test_a_pop_nobody_can_put_in_percent_is_told_but_not_drawn(device):
    record(device, date(2015, 3, 1), found=None, method="maker", cdtp=None, band=None)
    record(device, date(2016, 3, 1))
    first = panel().points[0]
    assert first.unplaced and first.figure == "150 psig"


def test_without_any_cold_test_pressure_pops_stand_in_their_own_unit(device):
    record(device, date(2015, 3, 1), found="10 barg", left="1000 kPag", cdtp=None, band=None)
    assert panel().unit == "kPag, no cold test pressure is known"
    assert [p.value for p in panel().points] == [1000, 1000]


def test_a_datum_change_cuts_the_line_between_the_visits_or_on_the_day(device):
    record(device, date(2015, 3, 1), rings=("1 notch", "1 notch"), datum="stop")
    record(device, date(2017, 3, 1), rings=("5 notches", "5 notches"), datum="flat")
    assert [(c.on, c.reason) for c in panel("lower_ring").cuts] == [
        (date(2016, 2, 29), "datum changed")
    ]


def test_a_method_change_and_a_new_spring_cut_the_pops(device):
    spring = [("spring", "pitted", "renewed")]
    yearly(device, {}, {"method": "in_place_assist"}, {"findings": spring})
    cuts = [c.reason for c in panel().cuts]
    assert cuts == ["method changed", "method changed", "new spring"]
    assert {p.remark for p in panel().points} == {"on the bench", "in place, lift assisted"}


def test_a_setting_says_its_unit_datum_and_direction(device):
    factories.SettingPointFactory(model=device.model, setting="lower_ring", positive="up")
    record(device, date(2015, 3, 1), rings=("-7 notches", "-9 notches"))
    drawn = panel("lower_ring")
    assert drawn.unit == "notches, from ring touching the disc holder, positive is up"
    assert [p.figure for p in drawn.points] == ["−7", "−9"]
