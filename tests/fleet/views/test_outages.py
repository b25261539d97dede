"""Outages: the strip, the scope, and a move that says at once what becomes late."""

from datetime import date

import pytest
from django.test import Client

from fleet.models import AuditEntry, Outage
from fleet.reports.proof import differences
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, streamed, text

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


@pytest.fixture
def planner(unit) -> Client:
    return signed_in("planner", unit.site)


def spring(unit, **extra):
    return factories.OutageFactory(site=unit.site, units=[unit], name="Spring", **extra)


def filled(unit, **changes):
    return {
        "site": unit.site_id,
        "name": "Spring",
        "units": [unit.pk],
        "starts_on": "2027-05-01",
        "ends_on": "2027-05-21",
        "status": "planned",
        **changes,
    }


def test_the_list_shows_each_outage_with_what_it_has_to_take(planner, unit):
    spring(unit, bench_hours="2")
    factories.JobHoursFactory(activity="bench_test", hours="3.50")
    plant.due(unit, "PSV-1", date(2027, 6, 1))
    page = text(planner.get("/outages/"))
    assert "3.5 h" in page and "1.5 h short" in page
    assert "outages of Reformer: Spring 1 May 2027" in page


def test_a_draft_serves_nothing_and_says_so(planner, unit):
    spring(unit, status="draft")
    assert "serves nothing until it is planned" in text(planner.get("/outages/"))


def test_the_page_says_the_scope_the_hours_and_what_is_missing(planner, unit):
    row = spring(unit)
    plant.due(unit, "PSV-1", date(2027, 4, 1))
    page = text(planner.get(f"/outages/{row.pk}/"))
    assert "30 days late" in page
    assert "nobody has said how many bench hours" in page
    assert "No later outage of Reformer is planned" in page
    assert "not given" in page


def test_a_scope_can_be_exported(planner, unit):
    row = spring(unit)
    plant.due(unit, "PSV-1", date(2027, 6, 1))
    lines = streamed(planner.get(f"/outages/{row.pk}/?export=csv")).decode().splitlines()
    assert lines[0].startswith("outage,site,unit,tag") and "PSV-1" in lines[1]


def test_what_is_not_understood_is_not_exported(planner, unit):
    row = spring(unit)
    assert planner.get(f"/outages/{row.pk}/?until=never&export=csv").status_code == 400


def test_moving_an_outage_says_at_once_what_becomes_late(planner, unit):
    row = spring(unit)
    plant.due(unit, "PSV-1", date(2027, 5, 15))
    changes = {"starts_on": "2027-06-01", "ends_on": "2027-06-20"}
    response = planner.post(f"/outages/{row.pk}/edit/", filled(unit, **changes), follow=True)
    page = text(response)
    assert "Moved from 1 May 2027" in page
    assert "none: becomes late" in page
    row.refresh_from_db()
    assert row.starts_on == date(2027, 6, 1)


def test_a_move_that_costs_nobody_anything_says_so(planner, unit):
    row = spring(unit)
    plant.due(unit, "PSV-1", date(2027, 12, 1))
    changes = {"starts_on": "2027-06-01", "ends_on": "2027-06-20"}
    page = text(planner.post(f"/outages/{row.pk}/edit/", filled(unit, **changes), follow=True))
    assert "Every line keeps the last outage it had" in page


def test_an_outage_is_added_with_its_units_and_an_audit_entry(planner, unit):
    planner.post("/outages/new/", filled(unit, bench_hours="120.5"))
    row = Outage.objects.get()
    assert list(row.units.all()) == [unit] and str(row.bench_hours) == "120.50"
    assert AuditEntry.objects.get().aggregate == f"outage:{row.pk}"
    assert not [d for d in differences() if "outage" in d.where]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"ends_on": "2027-04-30"}, "It ends before it begins"),
        ({"starts_on": "1.5.2027"}, "A day such as 2027-05-01"),
        ({"starts_on": "0207-05-01"}, "A year from 1950 to 2200"),
        ({"freeze_on": "2027-06-01"}, "The scope is frozen before it begins"),
        ({"units": []}, "This field is required"),
        ({"bench_hours": "-1"}, "greater than or equal to 0"),
        ({"bench_hours": "9**9**9"}, "Enter a number"),
        ({"name": ""}, "This field is required"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_kept_as_typed(planner, unit, changes, said):
    response = planner.post("/outages/new/", filled(unit, **changes))
    assert response.status_code == 422
    assert said in text(response)
    assert 'value="2027-05-21"' in text(response) or "ends_on" in changes
    assert not Outage.objects.exists()


def test_a_name_is_used_once_a_site(planner, unit):
    spring(unit)
    response = planner.post("/outages/new/", filled(unit))
    assert "The site has an outage of this name" in text(response)


def test_units_of_another_site_cannot_be_shut_down(planner, unit):
    foreign = factories.UnitFactory()
    response = planner.post("/outages/new/", filled(unit, units=[foreign.pk]))
    assert response.status_code == 422


def test_an_auditor_reads_and_cannot_change(unit):
    row, auditor = spring(unit), signed_in("auditor", unit.site)
    assert auditor.get(f"/outages/{row.pk}/").status_code == 200
    assert "Change it" not in text(auditor.get(f"/outages/{row.pk}/"))
    assert auditor.get("/outages/new/").status_code == 403
    assert auditor.post(f"/outages/{row.pk}/edit/", filled(unit)).status_code == 403


def test_a_planner_elsewhere_who_only_reads_here_cannot_change_it_here(unit):
    row = spring(unit)
    person = signed_in("planner", factories.SiteFactory())
    factories.MembershipFactory(user=person.user, site=unit.site, role="auditor")
    assert person.get(f"/outages/{row.pk}/").status_code == 200
    assert person.post(f"/outages/{row.pk}/edit/", filled(unit)).status_code == 403


def test_outside_its_site_an_outage_does_not_exist(unit):
    row, stranger = spring(unit), signed_in("planner", factories.SiteFactory())
    assert stranger.get(f"/outages/{row.pk}/").status_code == 404
    assert stranger.post(f"/outages/{row.pk}/edit/", filled(unit)).status_code == 404
    assert "Spring" not in text(stranger.get("/outages/"))


@pytest.mark.parametrize("query", ["?began=x&ended=y", "?began=2027-01-01", "?until=never"])
def test_an_odd_address_still_answers(planner, unit, query):
    row = spring(unit)
    assert planner.get(f"/outages/{row.pk}/{query}").status_code == 200


def test_the_list_costs_the_same_for_three_outages_and_for_thirty(
    planner, unit, django_assert_max_num_queries, django_assert_num_queries
):
    def outages(numbers):
        for n in numbers:
            factories.OutageFactory(
                site=unit.site,
                units=[unit, factories.UnitFactory(site=unit.site)],
                starts_on=date(2027 + n, 5, 1),
                ends_on=date(2027 + n, 5, 20),
            )
            plant.due(unit, f"PSV-{n:02}", date(2027 + n, 6, 1))

    outages(range(3))
    # session, user, roles; sites, units for the filter; outages with units; outages of units;
    # stale stamps; lines; kinds; hours
    with django_assert_max_num_queries(14) as few:
        planner.get("/outages/")
    outages(range(3, 30))
    with django_assert_num_queries(len(few.captured_queries)):
        planner.get("/outages/")


def test_one_outage_costs_the_same_for_three_lines_and_for_thirty(
    planner, unit, django_assert_max_num_queries, django_assert_num_queries
):
    row = spring(unit)
    for n in range(3):
        plant.due(unit, f"PSV-{n:02}", date(2027, 6, 1))
    with django_assert_max_num_queries(20) as few:
        planner.get(f"/outages/{row.pk}/")
    for n in range(3, 30):
        plant.due(unit, f"PSV-{n:02}", date(2027, 6, 1))
    with django_assert_num_queries(len(few.captured_queries)):
        assert len(planner.get(f"/outages/{row.pk}/").context["table"].page) == 30


def test_a_unit_is_not_shut_down_twice_at_once(planner, unit):
    spring(unit)
    answer = planner.post(
        "/outages/new/", filled(unit, name="Other", starts_on="2027-05-21", ends_on="2027-06-01")
    )
    assert answer.status_code == 422
    assert "Reformer is down then already: Spring, 2027-05-01 to 2027-05-21" in text(answer)
    after = filled(unit, name="Other", starts_on="2027-05-22", ends_on="2027-06-01")
    assert planner.post("/outages/new/", after).status_code == 302
