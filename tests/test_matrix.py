"""Every address x every role: the table says what each is answered, and nothing is left out.

302 to sign in or onward; 403 without the right; 404 outside the reader's sites; 405 for reading
what is only written; 422 for a form sent empty. A new address is a new line here.
"""

import pytest
from django.db import transaction
from django.test import Client

from fleet import permissions
from fleet.permissions import ROLES
from tests import factories
from tests.addresses import ROUTES, address, keys_of, patterns

pytestmark = pytest.mark.django_db
OPEN_TO_ALL = {"sign_in", "sign_out", "calendar"}
# One library for all sites; and an address that is its own key, whoever asks.
OF_NO_SITE = ("rule", "tolerance", "model", "calendar")

# Columns: nobody signed in, planner, mechanic, engineer, auditor, administrator.
TABLE = """
home                 GET   302 302 302 302 302 302
home                 POST  403 405 405 405 405 405
sign_in              GET   200 302 302 302 302 302
sign_in              POST  200 302 302 302 302 302
sign_out             GET   405 405 405 405 405 405
sign_out             POST  302 302 302 302 302 302
due_list             GET   302 200 200 200 200 200
due_list             POST  403 405 405 405 405 405
outage_list          GET   302 200 200 200 200 200
outage_list          POST  403 405 405 405 405 405
outage_new           GET   302 200 403 403 403 403
outage_new           POST  403 422 403 403 403 403
outage               GET   302 200 200 200 200 200
outage               POST  403 405 405 405 405 405
outage_edit          GET   302 200 403 403 403 403
outage_edit          POST  403 422 403 403 403 403
groups               GET   302 200 200 200 200 200
groups               POST  403 405 405 405 405 405
group                GET   302 200 200 200 200 200
group                POST  403 405 405 405 405 405
deferral_list        GET   302 200 200 200 200 200
deferral_list        POST  403 405 405 405 405 405
deferral_ask         GET   302 200 403 200 403 403
deferral_ask         POST  403 422 403 422 403 403
deferral_answer      GET   302 403 403 200 403 403
deferral_answer      POST  403 403 403 422 403 403
interval_decide      GET   302 403 403 200 403 403
interval_decide      POST  403 403 403 422 403 403
rules                GET   302 200 200 200 200 200
rules                POST  403 405 405 405 405 405
rule                 GET   302 200 200 200 200 200
rule                 POST  403 405 405 405 405 405
rule_new             GET   302 403 403 200 403 403
rule_new             POST  403 403 403 422 403 403
rule_replace         GET   302 403 403 200 403 403
rule_replace         POST  403 403 403 422 403 403
tolerances           GET   302 200 200 200 200 200
tolerances           POST  403 405 405 405 405 405
tolerance            GET   302 200 200 200 200 200
tolerance            POST  403 405 405 405 405 405
tolerance_new        GET   302 403 403 200 403 403
tolerance_new        POST  403 403 403 422 403 403
tolerance_replace    GET   302 403 403 200 403 403
tolerance_replace    POST  403 403 403 422 403 403
site_as_left         GET   302 403 403 405 403 403
site_as_left         POST  403 403 403 422 403 403
people               GET   302 403 403 403 403 200
people               POST  403 403 403 403 403 422
role_give            GET   302 403 403 403 403 405
role_give            POST  403 403 403 403 403 302
role_take            GET   302 403 403 403 403 405
role_take            POST  403 403 403 403 403 302
person_active        GET   302 403 403 403 403 405
person_active        POST  403 403 403 403 403 302
person_password      GET   302 403 403 403 403 200
person_password      POST  403 403 403 403 403 422
feeds                GET   302 200 200 200 200 200
feeds                POST  403 405 405 405 405 405
feed_new             GET   302 405 405 405 405 405
feed_new             POST  403 404 404 404 404 404
feed_revoke          GET   302 405 405 405 405 405
feed_revoke          POST  403 403 403 403 403 302
calendar             GET   200 200 200 200 200 200
calendar             POST  405 405 405 405 405 405
register             GET   302 200 200 200 200 200
register             POST  403 405 405 405 405 405
devices              GET   302 200 200 200 200 200
devices              POST  403 405 405 405 405 405
device               GET   302 200 200 200 200 200
device               POST  403 405 405 405 405 405
device_history_pdf   GET   302 200 200 200 200 200
device_history_pdf   POST  403 405 405 405 405 405
device_history_svg   GET   302 200 200 200 200 200
device_history_svg   POST  403 405 405 405 405 405
device_fit           GET   302 200 200 200 403 403
device_fit           POST  403 422 422 422 403 403
device_take_out      GET   302 200 200 200 403 403
device_take_out      POST  403 422 422 422 403 403
installation_void    GET   302 200 200 200 403 403
installation_void    POST  403 422 422 422 403 403
model                GET   302 200 200 200 200 200
model                POST  403 405 405 405 405 405
model_limit_new      GET   302 403 403 200 403 403
model_limit_new      POST  403 403 403 422 403 403
model_limit          GET   302 403 403 200 403 403
model_limit          POST  403 403 403 422 403 403
photo                GET   302 200 200 200 200 200
photo                POST  403 405 405 405 405 405
photo_small          GET   302 200 200 200 200 200
photo_small          POST  403 405 405 405 405 405
photo_remove         GET   302 403 405 403 403 403
photo_remove         POST  403 403 302 403 403 403
document             GET   302 200 200 200 200 200
document             POST  403 405 405 405 405 405
document_remove      GET   302 403 405 403 403 403
document_remove      POST  403 403 302 403 403 403
device_arithmetic    GET   302 200 200 200 200 200
device_arithmetic    POST  403 405 405 405 405 405
device_acknowledge   GET   302 403 403 405 403 403
device_acknowledge   POST  403 403 403 422 403 403
device_instruct      GET   302 403 403 200 403 403
device_instruct      POST  403 403 403 422 403 403
instruction_end      GET   302 403 403 200 403 403
instruction_end      POST  403 403 403 422 403 403
model_point_new      GET   302 403 403 200 403 403
model_point_new      POST  403 403 403 422 403 403
model_point          GET   302 403 403 200 403 403
model_point          POST  403 403 403 422 403 403
settings_review      GET   302 200 200 200 200 200
settings_review      POST  403 405 405 405 405 405
fleet_view           GET   302 200 200 200 200 200
fleet_view           POST  403 405 405 405 405 405
review_judged        GET   302 200 200 200 200 200
review_judged        POST  403 405 405 405 405 405
site_review          GET   302 403 403 405 403 403
site_review          POST  403 403 403 422 403 403
compliance_list      GET   302 200 200 200 200 200
compliance_list      POST  403 405 405 405 405 405
position             GET   302 200 200 200 200 200
position             POST  403 405 405 405 405 405
position_trigger     GET   302 200 200 200 403 403
position_trigger     POST  403 422 422 422 403 403
position_counter     GET   302 200 200 200 403 403
position_counter     POST  403 422 422 422 403 403
position_idle        GET   302 200 200 200 403 403
position_idle        POST  403 422 422 422 403 403
search               GET   302 200 200 200 200 200
search               POST  403 405 405 405 405 405
bench                GET   302 200 200 200 200 200
bench                POST  403 405 405 405 405 405
bench_start          GET   302 403 200 403 403 403
bench_start          POST  403 403 422 403 403 403
bench_worker         GET   302 200 200 200 200 200
bench_worker         POST  403 405 405 405 405 405
bench_edits          GET   302 403 200 403 403 403
bench_edits          POST  403 403 422 403 403 403
bench_sign           GET   302 403 200 403 403 403
bench_sign           POST  403 403 409 403 403 403
bench_compare        GET   302 403 200 403 403 403
bench_compare        POST  403 403 405 403 403 403
bench_judge          GET   302 403 200 403 403 403
bench_judge          POST  403 403 405 403 403 403
bench_measure        GET   302 403 200 403 403 403
bench_measure        POST  403 403 405 403 403 403
bench_nuts           GET   302 403 200 403 403 403
bench_nuts           POST  403 403 405 403 403 403
bench_photos         GET   302 403 405 403 403 403
bench_photos         POST  403 403 422 403 403 403
bench_documents      GET   302 403 405 403 403 403
bench_documents      POST  403 403 422 403 403 403
bench_step           GET   302 403 200 403 403 403
bench_step           POST  403 403 302 403 403 403
inspection           GET   302 200 200 200 200 200
inspection           POST  403 405 405 405 405 405
inspection_verify    GET   302 403 405 405 403 403
inspection_verify    POST  403 403 302 302 403 403
inspection_correct   GET   302 403 405 405 403 403
inspection_correct   POST  403 403 302 302 403 403
inspection_certificate GET 302 404 404 404 404 404
inspection_certificate POST 403 405 405 405 405 405
inspection_tag       GET   302 404 404 404 404 404
inspection_tag       POST  403 405 405 405 405 405
bench_sheet          GET   302 403 200 403 403 403
bench_sheet          POST  403 403 405 403 403 403
question_answer      GET   302 403 403 405 403 403
question_answer      POST  403 403 403 302 403 403
proposals            GET   302 200 200 200 200 200
proposals            POST  403 405 405 405 405 405
proposal             GET   302 200 200 200 200 200
proposal             POST  403 405 405 405 405 405
proposal_accept      GET   302 403 403 405 403 403
proposal_accept      POST  403 403 403 422 403 403
proposal_decline     GET   302 403 403 405 403 403
proposal_decline     POST  403 403 403 422 403 403
import_upload        GET   302 200 403 200 403 200
import_upload        POST  403 422 403 422 403 422
import_report        GET   302 200 403 200 403 200
import_report        POST  403 405 403 405 403 405
import_confirm       GET   302 405 403 405 403 405
import_confirm       POST  403 302 403 302 403 302
import_cancel        GET   302 405 403 405 403 405
import_cancel        POST  403 302 403 302 403 302
"""


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
