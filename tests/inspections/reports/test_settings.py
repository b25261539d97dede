"""The settings review: the columns of the exchange contract, the two movements, facts by a day."""

from datetime import date
from decimal import Decimal

import pytest

from fleet.models import Device
from inspections.models import Inspection
from inspections.reports.settings import COLUMNS, review
from inspections.reports.settings_ask import Review
from tests import factories
from tests.inspections.reports.records import record, yearly

pytestmark = pytest.mark.django_db
TODAY = date(2026, 10, 31)


@pytest.fixture
def device():
    model = factories.DeviceModelFactory(maker="Invented Works", name="IW-1")
    return factories.DeviceFactory(number="D-1", serial="S1", model=model)


def rows(as_of=TODAY):
    return review(as_of, Device.objects.all())


def row(setting="set_pressure", as_of=TODAY):
    return next(r for r in rows(as_of) if r.setting == setting)


def test_the_columns_are_those_of_the_exchange_contract():
    assert ",".join(COLUMNS) == (
        "site,tag,device,serial,model,setting,unit,datum,n,last_as_found,last_as_left,"
        "last_service_movement,last_shop_reset,last_deviation_percent,drift_per_year,trend_p,"
        "out_of_tolerance_count,flags,reason"
    )


def test_one_row_for_each_setting_and_one_for_set_pressure(device):
    factories.SettingPointFactory(model=device.model, setting="lower_ring")
    factories.SettingPointFactory(model=device.model, setting="upper_ring", required=True)
    record(device, date(2020, 3, 1), rings=("-7 notches", "-7 notches"))
    assert [(r.device, r.setting, r.n) for r in rows()] == [
        ("D-1", "upper_ring", 0),  # required, never read: flagged, so it stands first
        ("D-1", "set_pressure", 1),
        ("D-1", "lower_ring", 1),
    ]


def test_service_movement_and_shop_reset_are_told_apart(device):
    yearly(
        device,
        {"rings": ("-7 notches", "-7 notches")},
        {"rings": ("-7 notches", "-10 notches")},
        {"rings": ("-12 notches", "-7 notches")},
    )
    ring = row("lower_ring")
    assert (ring.last_as_found, ring.last_as_left) == ("-12 notches", "-7 notches")
    assert ring.last_service_movement == "-2 notches"
    assert ring.last_shop_reset == "+5 notches"
    assert (ring.unit, ring.n) == ("notches", 3)


def test_set_pressure_moves_in_percent_of_the_cold_test_pressure(device):
    yearly(device, {"left": "150 psig"}, {"found": "147 psig", "left": "150 psig"})
    pressure = row()
    assert pressure.unit == "%"
    assert pressure.last_service_movement == "-2.00 %"
    assert pressure.last_shop_reset == "+2.00 %"
    assert pressure.last_deviation_percent == Decimal("-2.00")
    assert pressure.last_as_found == "147 psig"


# As-found pops of public plant event reports: set, first pop, deviation half away from zero to two
# places. The first report prints -4.42: truncated.
@pytest.mark.parametrize(
    ("cdtp", "pop", "deviation"),
    [
        ("1175 psig", "1123 psig", "-4.43"),  # LER 388/2009-001
        ("1205 psig", "1165 psig", "-3.32"),
        ("1205 psig", "1137 psig", "-5.64"),
        ("1065 psig", "1108.6 psig", "4.09"),  # LER 247/2010-002
        ("1065 psig", "1125 psig", "5.63"),  # LER 247/2016-001
    ],
)
def test_published_as_found_pops_give_their_published_deviation(device, cdtp, pop, deviation):
    record(device, date(2016, 1, 1), found=pop, left=cdtp, cdtp=cdtp, band=None)
    assert row().last_deviation_percent == Decimal(deviation)


def test_first_pop_high_and_next_ones_in_the_band_is_sticking(device):
    # LER 247/2016-001: 1125, then 1038 and 1037 psig unadjusted, against 1065 psig and 3 %.
    record(
        device,
        date(2016, 1, 1),
        found="1125 psig",
        later=("1038 psig", "1037 psig"),
        left="1065 psig",
        cdtp="1065 psig",
        band=("1033.05 psig", "1096.95 psig"),
        ref="W-1",
    )
    pressure = row()
    assert {"sticking", "out_of_tolerance"} <= set(pressure.flags)
    assert pressure.out_of_tolerance_count == 1
    assert "first pop 1125 psig was high" in pressure.reason
    assert "2016-01-01 (W-1)" in pressure.reason


def test_a_pop_that_never_came_is_a_bound_and_never_a_deviation(device):
    yearly(device, {}, {"no_lift": "225 psig"})
    pressure = row()
    assert pressure.last_as_found == "no lift at 225 psig"
    assert pressure.last_service_movement == "more than +50.00 %"
    assert pressure.last_deviation_percent is None


def test_what_the_last_visit_did_not_record_is_empty_and_never_an_older_reading(device):
    factories.SettingPointFactory(model=device.model, setting="lower_ring", required=True)
    yearly(device, {"rings": ("-7 notches", "-7 notches")}, {"rings": (None, "-7 notches")})
    ring = row("lower_ring")
    assert ring.last_as_found == "" and ring.last_service_movement == ""
    assert ring.flags == ("record_missing",)
    assert "no as-found recorded, 2016-03-01 (R-2016)" in ring.reason


def test_an_overhaul_that_says_nothing_of_a_ring_hides_what_it_did_to_it(device):
    """From 2015 to 2017 nobody knows what the shop of 2016 did: no service movement."""
    yearly(
        device,
        {"rings": ("-7 notches", "-7 notches")},
        {},
        {"rings": ("-12 notches", "-12 notches")},
    )
    assert row("lower_ring").last_service_movement == ""
    assert "moved_in_service" not in row("lower_ring").flags


def test_another_datum_is_never_subtracted(device):
    for year, count, datum in (
        (2015, "-7 notches", "the disc holder"),
        (2016, "3 notches", "flat"),
    ):
        record(device, date(year, 3, 1), rings=(count, count), datum=datum)
    ring = row("lower_ring")
    assert ring.last_service_movement == ""
    assert ring.flags == ("datum_changed",)
    assert ring.datum == "flat"


def test_a_new_spring_parts_what_was_found_from_what_was_left(device):
    spring = [("spring", "pitted", "replaced")]
    yearly(device, {}, {"found": "140 psig", "left": "150 psig", "findings": spring})
    assert row().last_service_movement == "-6.67 %"
    assert row().last_shop_reset == ""


def test_a_finding_that_nothing_was_renewed_parts_nothing(device):
    spring = [("spring", "pitted", "to be replaced at the next overhaul")]
    yearly(device, {}, {"found": "147 psig", "left": "150 psig", "findings": spring})
    assert row().last_shop_reset == "+2.00 %"


def test_rings_that_the_shop_keeps_moving_are_said(device):
    yearly(
        device,
        {"rings": ("-7 notches", "-10 notches")},
        {"rings": ("-10 notches", "-7 notches")},
        {"rings": ("-7 notches", "-10 notches")},
    )
    assert row("lower_ring").flags == ("reset_repeatedly",)


def test_a_trend_wants_four_readings_and_then_has_slope_and_p(device):
    years = [{"found": f"{pop} psig"} for pop in (150, 149, 147, 146)]
    yearly(device, *years[:3])
    assert (row().drift_per_year, row().trend_p) == (None, None)
    record(device, date(2018, 3, 1), found="146 psig")
    # n = 4, S = -6: exact upper tail .0417 (printed tables), twice that for either direction.
    assert row().trend_p == Decimal("0.0833")
    assert Decimal("-1") < row().drift_per_year < Decimal("-0.8")


def test_only_facts_dated_by_the_day_are_seen(device):
    place = factories.PositionFactory(tag="PSV-NOW", unit__site=device.site)
    before = factories.PositionFactory(tag="PSV-THEN", unit=place.unit)
    for at, since, until in ((before, 2014, 2016), (place, 2016, None)):
        factories.InstallationFactory(
            position=at,
            device=device,
            installed_on=date(since, 5, 1),
            removed_on=date(until, 4, 1) if until else None,
        )
    yearly(device, {}, {"found": "160 psig"})
    assert (row().tag, row().n) == ("PSV-NOW", 2)
    then = row(as_of=date(2016, 2, 29))
    assert (then.tag, then.n, then.flags) == ("PSV-THEN", 1, ())
    assert rows(date(2015, 2, 28)) == []


def test_the_tag_is_the_one_the_position_had_that_day(device):
    place = factories.PositionFactory(tag="PSV-NEW", unit__site=device.site)
    factories.PositionDutyFactory(position=place, tag="PSV-OLD")
    factories.PositionDutyFactory(position=place, tag="PSV-NEW", from_on=date(2020, 1, 1))
    factories.InstallationFactory(position=place, device=device, installed_on=date(2014, 1, 1))
    yearly(device, {})
    assert row().tag == "PSV-NEW"
    assert row(as_of=date(2019, 12, 31)).tag == "PSV-OLD"


def test_an_open_record_and_a_corrected_one_say_nothing(device):
    record(device, date(2015, 3, 1), found="120 psig", locked=False)
    assert rows() == []
    wrong = record(device, date(2016, 3, 1), found="120 psig")
    record(device, date(2016, 3, 1), found="150 psig", corrects=wrong)
    assert row().last_as_found == "150 psig"
    assert row().n == 1


def test_a_record_without_a_day_is_counted_but_stands_in_no_series(device):
    record(device, date(2016, 3, 1))
    record(device, None, found="120 psig")
    assert row().n == 1
    assert Review(TODAY, rows()).summary()["undated_records"] == 1


def test_a_scrapped_device_has_no_as_left_to_miss_and_a_new_one_no_as_found(device):
    record(device, date(2015, 3, 1), found=None, method="maker", activity="bench_test")
    record(device, date(2016, 3, 1), left=None, disposition="scrapped")
    assert "record_missing" not in row().flags


def test_a_waived_test_is_missing_and_says_why(device):
    record(device, date(2016, 3, 1), found=None, waived_reason="inlet packed solid")
    assert row().flags == ("record_missing",)
    assert "test waived, inlet packed solid" in row().reason


def test_turns_that_cannot_have_given_the_pressure_are_implausible():
    # 2,000 lb/in, 8 threads/in and a 2.000 in seat give 79.58 psi a turn (statics of a spring on
    # a disc): two turns in for 2 psi is no reading of this valve.
    device = factories.DeviceFactory(
        spring_rate="2000 lb/in", screw_lead="1/8 in", seat_diameter="2.000 in"
    )
    factories.SettingPointFactory(
        model=device.model, setting="compression_screw", measure="turns", positive="in"
    )
    job = record(device, date(2016, 3, 1), found="148 psig", locked=False)
    for stage, value in (("as_found", "10 turns"), ("as_left", "12 turns")):
        factories.SettingReadingFactory(
            inspection=job, setting="compression_screw", stage=stage, value=value, datum="thread"
        )
    Inspection.objects.filter(pk=job.pk).update(
        locked_at=factories.RECORDED_AT, verified_by=factories.UserFactory()
    )
    assert row("compression_screw").flags == ("implausible",)
    assert "about +159 psig" in row("compression_screw").reason
