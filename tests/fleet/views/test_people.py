"""Signing in, what was typed when a session ends, and who may do what."""

import re
from datetime import date

import pytest
from django.test import Client

from fleet.models import Membership, Outage, User
from fleet.reports.proof import differences
from tests import factories
from tests.factories import PASSWORD
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, text

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def site():
    return factories.SiteFactory(name="North works")


@pytest.fixture
def administrator(site) -> Client:
    return signed_in("administrator", site)


def member(site, role="mechanic", **extra):
    return factories.MembershipFactory(site=site, role=role, **extra).user


@pytest.mark.parametrize(
    ("role", "page"),
    [("planner", "due_list"), ("administrator", "people")],
)
def test_each_role_opens_on_its_own_page(site, role, page):
    response = signed_in(role, site).get("/", follow=True)
    assert response.resolver_match.url_name == page


def test_signing_in_opens_what_was_asked_for(client, site):
    user = member(site, "planner")
    response = client.post(
        "/sign-in/?next=/outages/", {"username": user.username, "password": PASSWORD}
    )
    assert response["Location"] == "/outages/"


def test_a_wrong_password_is_said_without_saying_which_was_wrong(client, site):
    user = member(site)
    page = text(client.post("/sign-in/", {"username": user.username, "password": "x"}))
    assert "correct username and password" in page and 'role="alert"' in page


def test_an_inactive_person_cannot_sign_in(client, site):
    user = member(site)
    User.objects.filter(pk=user.pk).update(is_active=False)
    client.post("/sign-in/", {"username": user.username, "password": PASSWORD})
    assert client.get("/due/").status_code == 302


def hidden(page: str) -> dict[str, list[str]]:
    """What the first form of a page would send besides what people fill in."""
    form = re.search(r"<main.*?<form(.*?)</form>", page, re.S)[1]
    fields: dict[str, list[str]] = {}
    for name, value in re.findall(r'type="hidden" name="([^"]+)" value="([^"]*)"', form):
        fields.setdefault(name, []).append(value.replace("&quot;", '"').replace("&amp;", "&"))
    return fields


def test_what_was_typed_when_the_session_ended_is_still_there_after_sign_in(site):
    unit, user = factories.UnitFactory(site=site), member(site, "planner")
    browser = Client(enforce_csrf_checks=True)
    browser.get("/sign-in/")  # a csrf cookie, and no session
    typed = {
        "csrfmiddlewaretoken": browser.cookies["csrftoken"].value,
        "site": site.pk,
        "name": 'Spring "A" & B',
        "units": [unit.pk],
        "starts_on": "2027-05-01",
        "ends_on": "2027-05-21",
        "status": "planned",
    }
    stale = browser.post("/outages/new/", typed)
    assert stale.status_code == 403
    assert "Spring &quot;A&quot; &amp; B" in text(stale)
    kept = hidden(text(stale))
    signed = browser.post("/sign-in/", {**kept, "username": user.username, "password": PASSWORD})
    assert signed.status_code == 200
    again = hidden(text(signed))
    assert again["name"] == ['Spring "A" & B']
    assert browser.post("/outages/new/", again).status_code == 302
    row = Outage.objects.get()
    assert (row.name, row.starts_on) == ('Spring "A" & B', date(2027, 5, 1))


def test_a_mistyped_password_on_the_way_back_keeps_it_too(site):
    browser = Client()
    kept = {"kept": '[["name", "Spring"]]', "kept_path": "/outages/new/"}
    page = text(browser.post("/sign-in/", {**kept, "username": "nobody", "password": "x"}))
    assert "correct username and password" in page and "Spring" in page


def test_a_stale_token_brings_back_what_was_typed_to_who_is_signed_in(site):
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(member(site, "planner"))
    response = browser.post("/outages/new/", {"name": "Spring", "csrfmiddlewaretoken": "old"})
    assert response.status_code == 403
    assert hidden(text(response))["name"] == ["Spring"]


def test_no_password_is_ever_written_into_a_page(site):
    browser = Client(enforce_csrf_checks=True)
    response = browser.post("/people/1/password/", {"password": "hunter2hunter2"})
    assert "hunter2hunter2" not in text(response)
    assert browser.post("/sign-in/", {"password": "hunter2hunter2"}).status_code == 302


@pytest.mark.parametrize("path", ["https://elsewhere.example/", "//elsewhere.example/", "x"])
def test_what_was_kept_is_never_sent_to_another_host(site, path):
    user, browser = member(site), Client()
    response = browser.post(
        "/sign-in/",
        {"kept": "[]", "kept_path": path, "username": user.username, "password": PASSWORD},
    )
    assert response.status_code == 302


def test_people_are_listed_with_their_roles(administrator, site):
    person = member(site, "engineer")
    factories.UserFactory(name="Old Record", is_active=False)
    page = text(administrator.get("/people/"))
    assert person.name in page and "engineer" in page
    assert "Old Record" in page and "cannot sign in" in page


def test_people_of_other_sites_are_not_listed(administrator):
    person = member(factories.SiteFactory())
    assert person.name not in text(administrator.get("/people/"))
    assert administrator.get(f"/people/{person.pk}/password/").status_code == 404


def test_a_person_is_added_with_a_first_role_and_can_sign_in(administrator, site, client):
    filled = {
        "name": "Ines Farrant",
        "username": "ines",
        "site": site.pk,
        "role": "mechanic",
        "password": PASSWORD,
        "again": PASSWORD,
    }
    assert administrator.post("/people/", filled).status_code == 302
    assert client.login(username="ines", password=PASSWORD)
    assert str(Membership.objects.get(user__username="ines")) == (
        "Ines Farrant, mechanic at North works"
    )


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"again": "another one"}, "The two are not the same"),
        ({"password": "short", "again": "short"}, "too short"),
        ({"username": "taken"}, "Somebody signs in with this name"),
        ({"name": "TAKEN NAME"}, "Somebody has this name"),
    ],
)
def test_a_person_who_cannot_be_added_is_refused_beside_the_field(
    administrator, site, changes, said
):
    factories.UserFactory(username="taken", name="Taken Name")
    filled = {
        "name": "Ines Farrant",
        "username": "ines",
        "site": site.pk,
        "role": "mechanic",
        "password": PASSWORD,
        "again": PASSWORD,
        **changes,
    }
    response = administrator.post("/people/", filled)
    assert response.status_code == 422 and said in text(response)


def test_a_role_is_given_and_taken_and_the_chain_knows(administrator, site):
    person = member(site)
    administrator.post(f"/people/{person.pk}/role/", {"site": site.pk, "role": "engineer"})
    given = Membership.objects.get(user=person, role="engineer")
    administrator.post(f"/people/roles/{given.pk}/take/")
    assert not Membership.objects.filter(pk=given.pk).exists()
    told = [d for d in differences() if f"fleet_membership {given.pk}" in d.where]
    assert told == []


def test_the_last_administrator_of_a_site_stays(administrator, site):
    own = administrator.user.memberships.get()
    page = text(administrator.post(f"/people/roles/{own.pk}/take/", follow=True))
    assert "would be left without an administrator" in page
    administrator.post(f"/people/{administrator.user.pk}/active/", {"active": "no"})
    assert User.objects.get(pk=administrator.user.pk).is_active


def test_a_sign_in_is_stopped_and_a_password_lets_it_in_again(administrator, site, client):
    person = member(site)
    administrator.post(f"/people/{person.pk}/active/", {"active": "no"})
    assert not client.login(username=person.username, password=PASSWORD)
    again = {"password": "another long one", "again": "another long one"}
    administrator.post(f"/people/{person.pk}/password/", again)
    assert client.login(username=person.username, password="another long one")


def test_whoever_serves_elsewhere_too_keeps_their_sign_in(administrator, site):
    person = member(site)
    factories.MembershipFactory(user=person, site=factories.SiteFactory(), role="engineer")
    typed = {"password": "another long one", "again": "another long one"}
    assert administrator.post(f"/people/{person.pk}/password/", typed).status_code == 403
    assert administrator.post(f"/people/{person.pk}/active/", {"active": "no"}).status_code == 403


def test_roles_at_other_sites_are_out_of_reach(administrator):
    foreign = factories.MembershipFactory()
    assert administrator.post(f"/people/roles/{foreign.pk}/take/").status_code == 404
    response = administrator.post(
        f"/people/{administrator.user.pk}/role/", {"site": foreign.site_id, "role": "planner"}
    )
    assert response.status_code == 302
    assert not Membership.objects.filter(user=administrator.user, site=foreign.site).exists()


@pytest.mark.parametrize("role", ["planner", "mechanic", "engineer", "auditor"])
def test_only_an_administrator_keeps_people(site, role):
    person = signed_in(role, site)
    assert person.get("/people/").status_code == 403
    assert (
        person.post(f"/people/{person.user.pk}/role/", {"role": "administrator"}).status_code == 403
    )


def test_the_page_costs_the_same_for_three_people_and_for_thirty(
    administrator, site, django_assert_max_num_queries, django_assert_num_queries
):
    for _ in range(3):
        member(site)
    # session, user, roles; sites; people, their roles, the sites of these
    with django_assert_max_num_queries(9) as few:
        administrator.get("/people/")
    for _ in range(27):
        member(site)
    with django_assert_num_queries(len(few.captured_queries)):
        administrator.get("/people/")


def test_a_name_that_is_nobody_gets_no_sign_in(client):
    site = factories.SiteFactory()
    nobody = factories.UserFactory(name="not recorded", is_active=False)
    keeper = factories.MembershipFactory(site=site, role="administrator").user
    client.force_login(keeper)
    assert "not recorded" not in client.get("/people/").content.decode()
    data = {"password": "a long enough one", "username": "nobody"}
    assert client.post(f"/people/{nobody.pk}/password/", data).status_code == 404
