"""A position's page: what is owed and why, and everything that happened there."""

from datetime import UTC, date, datetime

import pytest

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
def engineer(unit):
    return signed_in("engineer", unit.site)


def page(client, place):
    return text(client.get(f"/positions/{place.pk}/"))


def test_what_is_owed_is_said_with_rule_source_and_whether_it_was_checked(engineer, unit):
    place = plant.due(unit, "PSV-1", date(2026, 9, 20)).position
    said = page(engineer, place)
    assert "overdue 41 days" in said
    assert "5 years after 20 Sep 2021" in said
    assert "No more than 5 years apart" in said
    assert "not checked against a copy" in said


def test_of_several_the_earliest_governs(engineer, unit):
    line = plant.due(unit, "PSV-1", date(2028, 9, 20))
    assert "governs" not in page(engineer, line.position)
    lever = factories.ObligationFactory(position=line.position, activity="lever")
    factories.ObligationSpanFactory(obligation=lever, state="dated", due_on=date(2027, 1, 1))
    plant.stamp_lines([line.position])
    said = page(engineer, line.position)
    assert said.count("governs") == 1 and said.index("governs") < said.index("20 Sep 2028")


def test_a_rule_read_in_a_copy_says_so(engineer, unit):
    place = plant.position(unit)
    rule = factories.IntervalRuleFactory(is_verified=True, edition="2024")
    obligation = factories.ObligationFactory(position=place, rule=rule)
    factories.ObligationSpanFactory(obligation=obligation)
    plant.stamp_lines([place])
    assert "2024: read in a copy" in page(engineer, place)


def test_a_position_that_owes_nothing_says_that_nothing_is_listed(engineer, unit):
    place = plant.position(unit)
    plant.fitted(place)
    plant.stamp_lines([place])
    assert "nothing is listed as owed at this position" in page(engineer, place)


def history(unit):
    """A position with one of everything that can happen there."""
    place = plant.position(unit, "PSV-1")
    device = factories.DeviceFactory(site=unit.site, number="N-1")
    factories.InstallationFactory(
        position=place,
        device=device,
        installed_on=date(2016, 1, 1),
        removed_on=date(2021, 2, 1),
        override_reason="the orifice is smaller",
    )
    factories.PositionDutyFactory(
        position=place, from_on=date(2018, 1, 1), set_pressure="160 psig", moc="MOC-7"
    )
    obligation = plant.owed(place, state="no_device")
    factories.IntervalDecisionFactory(
        obligation=obligation, from_on=date(2019, 1, 1), interval="P3Y", reason="two low pops"
    )
    factories.DeferralFactory(obligation=obligation, approved_on=date(2024, 12, 1))
    record = factories.InspectionFactory(
        device=device,
        position=place,
        site=unit.site,
        done_on=date(2020, 1, 1),
        tag_typed="PSV-9",
    )
    factories.QuestionFactory(
        inspection=record,
        position=place,
        site=unit.site,
        text="Is this the tag?",
        recorded_at=datetime(2020, 6, 1, tzinfo=UTC),
    )
    return place


def test_everything_that_happened_stands_latest_first(engineer, unit):
    place = history(unit)
    story = engineer.get(f"/positions/{place.pk}/").context["story"]
    told = [(entry.on and entry.on.year, entry.words) for entry in story.timeline]
    assert told == [
        (2024, "Bench test due 2025-01-01 deferred to 2025-03-01"),
        (2021, "Taken out"),
        (2020, "Question"),
        (2020, "Overhaul"),
        (2019, "Interval of the bench test set to 3 years"),
        (2018, "Duty changed"),
        (2016, "Fitted"),
        (None, "Duty"),
    ]
    beneath = {entry.words: entry.beneath for entry in story.timeline}
    assert beneath["Duty changed"] == "set pressure 150 psig to 160 psig (MOC-7)"
    assert "the sheet says PSV-9" in beneath["Overhaul"]
    assert "open, counts for nothing yet" in beneath["Overhaul"]
    assert "fitted although it did not match: the orifice is smaller" in beneath["Fitted"]


def test_an_open_question_stands_at_the_top(engineer, unit):
    place = plant.position(unit)
    plant.stamp_lines([place])
    factories.QuestionFactory(
        inspection=None, position=place, site=unit.site, text="Set above what the vessel allows."
    )
    assert "Set above what the vessel allows." in page(engineer, place)


def test_missing_facts_are_said_to_be_missing(engineer, unit):
    place = plant.position(unit)
    plant.stamp_lines([place])
    said = page(engineer, place)
    assert said.count("not given") >= 3
    assert "No device is fitted." in said


def test_outside_its_site_a_position_does_not_exist(unit):
    place = plant.position(unit)
    stranger = signed_in("engineer", factories.SiteFactory())
    assert stranger.get(f"/positions/{place.pk}/").status_code == 404


def test_the_page_costs_the_same_for_a_short_and_a_long_history(
    engineer, unit, django_assert_max_num_queries, django_assert_num_queries
):
    place = plant.due(unit, "PSV-1", date(2027, 1, 1)).position

    def records(years):
        for year in years:
            record = factories.InspectionFactory(
                device=factories.DeviceFactory(site=unit.site),
                position=place,
                site=unit.site,
                done_on=date(year, 1, 1),
            )
            factories.QuestionFactory(inspection=record, position=place, site=unit.site)
            factories.PositionDutyFactory(position=place, from_on=date(year, 1, 1))

    records([2001])
    with django_assert_max_num_queries(32) as few:
        engineer.get(f"/positions/{place.pk}/")
    records(range(2002, 2015))
    with django_assert_num_queries(len(few.captured_queries)):
        engineer.get(f"/positions/{place.pk}/")
