"""Every address x every role: the table says what each is answered, and nothing is left out.

302 to sign in or onward; 403 without the right; 404 outside the reader's sites; 405 for reading
what is only written; 422 for a form sent empty. A new address is a new line of `answers.py`.
"""

import pytest
from django.db import transaction
from django.test import Client

from fleet import permissions
from fleet.permissions import ROLES
from tests import factories
from tests.addresses import ROUTES, address, keys_of, patterns
from tests.answers import TABLE

pytestmark = pytest.mark.django_db
OPEN_TO_ALL = {"sign_in", "sign_out", "calendar"}
# One library for all sites; and an address that is its own key, whoever asks.
OF_NO_SITE = ("rule", "tolerance", "model", "calendar")


def rows():
    for line in TABLE.strip().splitlines():
        if line.strip():
            name, method, *statuses = line.split()
            yield name, method, [int(status) for status in statuses]


@pytest.fixture
def site():
    return factories.SiteFactory()


@pytest.fixture
def keys(site, settings, tmp_path):
    """What stands in each address: rows of this one site."""
    settings.MEDIA_ROOT = tmp_path
    return keys_of(site)


def clients(site):
    """A client a column, each signed in for one role at the site; the first for none."""
    yield Client()
    for role in ROLES:
        client = Client()
        client.force_login(factories.MembershipFactory(site=site, role=role).user)
        yield client


def status(client, method, path):
    """Asked and undone."""
    with transaction.atomic():
        send = client.get if method == "GET" else client.post
        response = send(path, {"nothing": "of use"})
        transaction.set_rollback(True)
    return response.status_code


@pytest.mark.parametrize(("name", "method", "wanted"), list(rows()), ids=lambda v: str(v)[:24])
def test_each_role_gets_what_the_table_says(site, keys, name, method, wanted):
    path = address(name, keys)
    assert [status(client, method, path) for client in clients(site)] == wanted


def test_every_address_is_in_the_table():
    names = {name for name, _, _ in rows()}
    assert sorted(set(ROUTES) - names) == [] and sorted(names - set(ROUTES)) == []
    assert len(ROUTES) == len(list(patterns()))  # each has a name of its own


def test_every_address_is_asked_for_and_sent_to():
    asked = {(name, method) for name, method, _ in rows()}
    assert asked >= {(name, method) for name in ROUTES for method in ("GET", "POST")}


def test_every_view_declares_the_right_it_needs():
    undeclared = [
        pattern.name
        for _, pattern in patterns()
        if getattr(pattern.callback, "right", None) not in permissions.RIGHTS
    ]
    assert sorted(undeclared) == sorted(OPEN_TO_ALL)


OF_A_SITE = [n for n, r in ROUTES.items() if "<" in r and n.partition("_")[0] not in OF_NO_SITE]


@pytest.mark.parametrize("name", OF_A_SITE)
def test_another_site_s_rows_do_not_exist(keys, name):
    """For somebody who holds every role, elsewhere."""
    user = factories.UserFactory()
    elsewhere = factories.SiteFactory()
    for role in ROLES:
        factories.MembershipFactory(user=user, site=elsewhere, role=role)
    client = Client()
    client.force_login(user)
    found = {status(client, method, address(name, keys)) for method in ("GET", "POST")}
    assert 404 in found and found <= {404, 405}


def test_somebody_without_any_site_is_told_so_everywhere(keys):
    client = Client()
    client.force_login(factories.UserFactory())
    found = {name: status(client, "GET", address(name, keys)) for name in ROUTES}
    del found["sign_in"], found["sign_out"], found["calendar"]
    assert set(found.values()) == {403}


def test_somebody_who_has_left_gets_nowhere(site, keys):
    user = factories.MembershipFactory(site=site, role="administrator").user
    client = Client()
    client.force_login(user)
    user.is_active = False
    user.save()
    found = {name: status(client, "GET", address(name, keys)) for name in ROUTES}
    assert set(found.values()) <= {200, 302, 405} and found["people"] == 302
