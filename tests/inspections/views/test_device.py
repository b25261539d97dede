"""A device's page: where it is, what it owes there, its settings over the years, why flagged."""

from datetime import date

import pytest
from django.urls import reverse

from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, text
from tests.inspections.reports.records import record, yearly

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


def page(client, device):
    return text(client.get(reverse("device", args=[device.pk])))


def test_where_it_is_since_when_and_what_it_owes_there(engineer, unit):
    obligation = plant.due(unit, "PSV-1", date(2026, 9, 20), number="D-1", serial="AB7")
    place = obligation.position
    device = place.installations.get().device
    said = page(engineer, device)
    assert f'at <a href="/positions/{place.pk}/">PSV-1</a> since 1 January 2015' in said
    assert "overdue 41 days" in said and "due 20 September 2026" in said
    assert "serial <b>AB7</b>" in said


def test_every_mark_of_the_drawing_says_its_reading_and_opens_its_record(engineer, unit):
    device = factories.DeviceFactory(site=unit.site)
    first, second = yearly(
        device,
        {"rings": ("-7 notches", "-7 notches")},
        {"found": "160 psig", "rings": ("-7 notches", "-10 notches")},
    )
    said = page(engineer, device)
    for label in (
        "as found 1 Mar 2016, R-2016: 160 psig, +6.7 %, high",
        "as left 1 Mar 2016, R-2016: −10 notches",
    ):
        assert f"<title>{label}</title>" in said
    assert said.count(f'href="/inspections/{second.pk}/"') >= 4
    assert "The same in figures" in said
    assert f'href="/inspections/{first.pk}/"' in said


def test_why_it_is_flagged_names_every_visit_newest_first(engineer, unit):
    device = factories.DeviceFactory(site=unit.site)
    yearly(device, {"found": "160 psig"}, {"found": "161 psig"})
    said = page(engineer, device)
    assert said.index("first pop 161 psig was high") < said.index("first pop 160 psig was high")


def test_all_its_spells_and_everything_that_happened_stand_there(engineer, unit):
    device = factories.DeviceFactory(site=unit.site)
    for tag, since, until in (("PSV-1", 2015, 2018), ("PSV-2", 2019, None)):
        place = plant.position(unit, tag)
        factories.InstallationFactory(
            position=place,
            device=device,
            installed_on=date(since, 5, 1),
            removed_on=date(until, 5, 1) if until else None,
        )
    record(device, date(2018, 6, 1), ref="W-18")
    said = page(engineer, device).partition("Everything that happened")[2]
    assert said.index("Fitted at") < said.index("W-18") < said.index("Taken out of")
    assert "still there" in said and "1 May 2018" in said


def test_a_spare_past_its_shelf_date_says_so(engineer, unit):
    device = factories.DeviceFactory(site=unit.site, shelf_expires_on=date(2026, 6, 30))
    said = page(engineer, device)
    assert "Past its shelf date:" in said and "30 June 2026" in said
    assert "never fitted" in said
    fresh = factories.DeviceFactory(site=unit.site, shelf_expires_on=TODAY)
    assert "Past its shelf date:" not in page(engineer, fresh)


def test_fitted_after_its_shelf_date_is_said_too(engineer, unit):
    place = plant.position(unit, "PSV-1")
    device = plant.fitted(place, on=date(2026, 8, 1), shelf_expires_on=date(2026, 6, 30))
    assert "before it was fitted on 1 August 2026" in page(engineer, device)


def test_open_questions_and_an_open_job_are_shown(engineer, unit):
    device = factories.DeviceFactory(site=unit.site)
    job = record(device, date(2026, 3, 1), ref="W-OPEN", locked=False)
    factories.QuestionFactory(inspection=job, device=device, text="psi was taken as psig")
    said = page(engineer, device)
    assert "psi was taken as psig" in said
    assert "A job is open:" in said and "W-OPEN" in said


def test_a_mechanic_may_start_a_job_from_here_and_an_auditor_may_not(unit):
    device = factories.DeviceFactory(site=unit.site)
    link = f'href="{reverse("bench")}?device={device.number}"'
    assert link in page(signed_in("mechanic", unit.site), device)
    assert link not in page(signed_in("auditor", unit.site), device)
    scrapped = factories.DeviceFactory(site=unit.site, status="scrapped")
    assert "?device=" not in page(signed_in("mechanic", unit.site), scrapped)


def test_a_device_without_a_record_says_that_there_is_nothing_to_draw(engineer, unit):
    device = factories.DeviceFactory(site=unit.site)
    assert "nothing to draw" in page(engineer, device)


def test_outside_the_site_there_is_no_such_device_and_no_other_sites_spell(engineer, unit):
    theirs = factories.DeviceFactory()
    assert engineer.get(reverse("device", args=[theirs.pk])).status_code == 404
    ours = factories.DeviceFactory(site=unit.site)
    elsewhere = factories.PositionFactory(tag="PSV-ELSEWHERE")
    factories.InstallationFactory(position=elsewhere, device=ours)
    said = page(engineer, ours)
    assert "PSV-ELSEWHERE" not in said
    assert "And 1 spell at sites you do not see." in said


def test_the_page_costs_the_same_queries_however_long_the_history(
    engineer, unit, django_assert_num_queries, django_assert_max_num_queries
):
    device = plant.fitted(plant.position(unit, "PSV-1"))
    yearly(device, {}, {}, {}, first=1990)
    page(engineer, device)
    with django_assert_max_num_queries(38) as few:  # what is kept of the review: two
        page(engineer, device)
    yearly(device, *({} for _ in range(27)), first=1993)
    with django_assert_num_queries(len(few.captured_queries)):
        page(engineer, device)
