"""What an outage takes along: parts counted from like devices, never guessed."""

from datetime import date

import pytest

from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, streamed, text, words

pytestmark = pytest.mark.django_db
DAY = date(2027, 6, 1)


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


@pytest.fixture
def outage(unit):
    return factories.OutageFactory(site=unit.site, units=[unit], name="Spring")


@pytest.fixture
def model():
    return factories.DeviceModelFactory(maker="Invented Works", name="IW-9")


def owing(unit, tag, model, activity="overhaul"):
    place = plant.position(unit, tag)
    device = plant.fitted(place, model=model)
    return plant.owed(place, activity=activity, due_on=DAY, last_on=date(2022, 6, 1), device=device)


def past(unit, model, *findings, day=date(2022, 6, 1), **columns):
    """A standing overhaul of a device of the model, with (part, action) found."""
    device = factories.DeviceFactory(site=columns.pop("site", unit.site), model=model)
    record = factories.InspectionFactory(device=device, done_on=day, **columns)
    for part, action in findings:
        factories.FindingFactory(inspection=record, part=part, action=action)
    record.locked_at, record.accepted_by = factories.RECORDED_AT, record.recorded_by
    record.save()
    return record


def page(unit, outage, query=""):
    return signed_in("planner", unit.site).get(f"/outages/{outage.pk}/parts/{query}")


def test_parts_are_counted_from_past_overhauls_of_the_model(unit, outage, model):
    for n in range(5):
        owing(unit, f"PSV-{n}", model)
    for n in range(19):
        done = "replaced with new" if n < 7 else "lapped"
        past(unit, model, ("disc insert", done))
    said = words(page(unit, outage))
    assert "Invented Works IW-9 5 overhauls to come" in said
    assert "disc insert7 of 19204" in said  # renewed at 7 of 19: expect 2, from 0, to 4
    assert "exact prediction interval of a binomial at 90.0 % (Thatcher 1964)" in said


def test_of_too_few_overhauls_nothing_is_said(unit, outage, model):
    owing(unit, "PSV-1", model)
    for _ in range(4):
        past(unit, model, ("disc", "replaced"))
    said = words(page(unit, outage))
    assert "Not enough overhauls of this model: 4 of at least 5" in said
    assert "Renewed at" not in said


@pytest.mark.parametrize(
    "left_out",
    [
        {"activity": "bench_test"},
        {"day": date(2026, 11, 1)},  # after today
    ],
)
def test_only_overhauls_that_were_done_count(unit, outage, model, left_out):
    owing(unit, "PSV-1", model)
    for _ in range(4):
        past(unit, model, ("disc", "replaced"))
    past(unit, model, ("disc", "replaced"), **left_out)
    assert "4 of at least 5" in words(page(unit, outage))


def test_an_open_record_and_one_of_another_model_do_not_count(unit, outage, model):
    owing(unit, "PSV-1", model)
    for _ in range(4):
        past(unit, model, ("disc", "replaced"))
    past(unit, factories.DeviceModelFactory(), ("disc", "replaced"))
    device = factories.DeviceFactory(site=unit.site, model=model)
    open_one = factories.InspectionFactory(device=device)
    factories.FindingFactory(inspection=open_one, action="replaced")
    assert "4 of at least 5" in words(page(unit, outage))


def test_an_overhaul_that_says_nothing_of_any_part_is_said_and_not_counted(unit, outage, model):
    owing(unit, "PSV-1", model)
    for _ in range(5):
        past(unit, model, ("disc", "replaced"))
    past(unit, model)
    said = words(page(unit, outage))
    assert "disc5 of 5" in said
    assert "1 past overhaul of it says nothing of any part and is not counted" in said


def test_a_bench_test_needs_no_part_and_a_device_without_a_model_is_said(unit, outage, model):
    owing(unit, "PSV-1", model, activity="bench_test")
    owing(unit, "PSV-2", None)
    said = words(page(unit, outage))
    assert "IW-9" not in said and "Of 1 overhaul nothing is said" in said


def test_records_the_reader_may_not_see_are_not_counted(unit, outage, model):
    owing(unit, "PSV-1", model)
    foreign = factories.SiteFactory()
    for _ in range(6):
        past(unit, model, ("disc", "replaced"), site=foreign)
    assert "0 of at least 5" in words(page(unit, outage))


def test_it_is_exported_as_it_is_shown(unit, outage, model):
    owing(unit, "PSV-1", model)
    owing(unit, "PSV-2", factories.DeviceModelFactory(maker="Other", name="O-1"))
    for _ in range(5):
        past(unit, model, ("=disc", "replaced"))
    lines = streamed(page(unit, outage, "?export=csv")).decode().splitlines()
    assert lines[0] == "model,part,jobs,overhauls,renewed,expected,low,high,note"
    assert lines[1] == "Invented Works IW-9,'=disc,1,5,5,1,0,1,"
    assert lines[2] == "Other O-1,,1,0,,,,,not enough overhauls of this model: 0 of at least 5"


def test_the_outage_leads_to_it_and_strangers_see_nothing(unit, outage):
    planner = signed_in("planner", unit.site)
    stranger = signed_in("planner", factories.SiteFactory())
    assert f"/outages/{outage.pk}/parts/" in text(planner.get(f"/outages/{outage.pk}/"))
    assert stranger.get(f"/outages/{outage.pk}/parts/").status_code == 404


def test_it_costs_the_same_for_three_jobs_and_for_thirty(
    unit, outage, model, django_assert_max_num_queries, django_assert_num_queries
):
    for n in range(3):
        owing(unit, f"PSV-{n}", model)
        past(unit, model, ("disc", "replaced"))
    planner = signed_in("planner", unit.site)
    # session, user, roles; outage, units; plan; scope and its lines; what stands around; late
    # scope; records, findings
    with django_assert_max_num_queries(36) as few:
        planner.get(f"/outages/{outage.pk}/parts/")
    for n in range(3, 30):
        owing(unit, f"PSV-{n}", model)
        past(unit, model, ("disc", "replaced"))
    with django_assert_num_queries(len(few.captured_queries)):
        planner.get(f"/outages/{outage.pk}/parts/")
