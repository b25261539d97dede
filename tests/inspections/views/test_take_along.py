"""What an outage takes along: parts counted from like devices, never guessed."""

import re
from datetime import date

import pytest

from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, streamed, text, words
from tests.inspections.papers.reading import sheets_of

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


# The pick list of spares

SIZES = {"orifice": "J", "inlet": "2 in", "outlet": "3 in", "nameplate_set": "150 psig"}


def asking(unit, tag):
    """A position whose device is due its bench test in the outage."""
    place = plant.position(unit, tag)
    device = plant.fitted(place, **SIZES)
    tested = date(2022, 6, 1)
    return plant.owed(place, due_on=DAY, last_on=tested, device=device)


def spare(unit, number, tested=date(2026, 6, 1), **extra):
    device = factories.DeviceFactory(site=unit.site, number=number, **(SIZES | extra))
    if tested:
        factories.ServiceEventFactory(device=device, done_on=tested)
    return device


def spares(unit, outage, query=""):
    return signed_in("planner", unit.site).get(f"/outages/{outage.pk}/spares/{query}")


def test_a_spare_that_fits_is_picked_for_one_visit_and_no_other(unit, outage):
    for tag in ("PSV-1", "PSV-2"):
        asking(unit, tag)
    spare(unit, "S-1")
    lines = streamed(spares(unit, outage, "?export=csv")).decode().splitlines()
    assert lines[0] == "tag,work,planned_on,fitted,spare,serial,valid_until,why_none"
    first, second = (line.split(",") for line in lines[1:])
    assert first[:3] == ["PSV-1", "bench_test", "2027-05-01"] and first[4] == "S-1"
    assert first[6] == "2031-06-01"  # five years after its test
    assert second[4] == "" and second[7] == "those that fit are picked for other visits"
    assert "1 for 2 visits" in words(spares(unit, outage))


def test_none_is_picked_without_a_reason(unit, outage):
    asking(unit, "PSV-1")
    spare(unit, "S-1", orifice="K")
    said = words(spares(unit, outage))
    assert "0 for 1 visit that" in said and "S-1: its orifice is K" in said


def test_a_spare_whose_test_runs_out_before_the_outage_stays_at_home(unit, outage):
    asking(unit, "PSV-1")
    spare(unit, "S-1", tested=date(2022, 4, 1))  # good until 1 April 2027, a month too short
    assert "would be past its date, 1 Apr 2027" in words(spares(unit, outage))


def test_a_look_from_outside_takes_no_spare(unit, outage):
    place = plant.position(unit, "PSV-1")
    device = plant.fitted(place, **SIZES)
    plant.owed(place, activity="visual", due_on=DAY, last_on=date(2022, 6, 1), device=device)
    assert "No visit takes a device out" in words(spares(unit, outage))


def test_the_work_pack_says_which_spare_goes_along(unit, outage):
    asking(unit, "PSV-1")
    spare(unit, "S-1")
    response = signed_in("mechanic", unit.site).get(f"/outages/{outage.pk}/work-pack.pdf")
    first, visit = (" ".join(page.split()) for page in sheets_of(response.content))
    assert "PSV-1 D-" in first and "S-1 bench test" in first and "Spares picked" in first
    assert "Spare picked" in visit and "S-1" in visit


def test_what_the_plan_puts_here_is_exported_in_the_columns_of_plans(unit, outage):
    owed = asking(unit, "PSV-1")
    planner = signed_in("planner", unit.site)
    address = f"/outages/{outage.pk}/"
    assert "puts here" not in text(planner.get(address))
    plan = factories.PlanFactory(site=unit.site)
    place = {"status": "placed", "outage": outage, "planned_on": outage.starts_on}
    factories.PlannedJobFactory(plan=plan, obligation=owed, **place)
    plan.accepted_at, plan.accepted_by = factories.RECORDED_AT, factories.UserFactory()
    plan.save()
    [link] = re.findall(r'href="(/plans/[^"]*export=csv)"', text(planner.get(address)))
    lines = streamed(planner.get(link.replace("&amp;", "&"))).decode().splitlines()
    assert lines[0] == (
        "site,tag,activity,due_on,outage,planned_on,hours,days_given_up,status,days_late,reason"
    )
    assert lines[1].split(",")[1:6] == ["PSV-1", "bench_test", "2027-06-01", "Spring", "2027-05-01"]


def test_strangers_see_no_spares(unit, outage):
    stranger = signed_in("planner", factories.SiteFactory())
    assert stranger.get(f"/outages/{outage.pk}/spares/").status_code == 404
