"""Two people on one job, and one who was signed out while typing: nothing is lost."""

import pytest
from django.test import Client
from django.urls import reverse

from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.views.bench.pages import fields_of, send, stored, url

pytestmark = pytest.mark.django_db


# Two people, one job


def test_two_people_in_different_fields_are_both_kept(mechanic, other, job):
    mine, theirs = mechanic.get(url(job, "arrival")), other.get(url(job, "arrival"))
    send(other, job, "arrival", page=theirs, seal_found="broken")
    page = send(mechanic, job, "arrival", page=mine, remarks="corroded")
    assert "Theirs and yours are both kept" in text(page)
    assert (stored(job).seal_found, stored(job).remarks) == ("broken", "corroded")


def test_two_people_in_different_steps_are_both_kept(mechanic, other, job):
    mine = mechanic.get(url(job, "arrival"))
    send(other, job, "as_received", first_pop="151 psig")
    send(mechanic, job, "arrival", page=mine, remarks="corroded")
    assert stored(job).remarks == "corroded" and str(job.pops.get().pressure) == "151 psig"


def test_a_clash_shows_both_loses_nothing_and_the_second_save_decides(mechanic, other, job):
    mine, theirs = mechanic.get(url(job, "arrival")), other.get(url(job, "arrival"))
    send(other, job, "arrival", page=theirs, seal_found="broken", tag_typed="PSV-1")
    page = send(mechanic, job, "arrival", page=mine, seal_found="missing", remarks="corroded")
    assert page.status_code == 409
    [clash] = page.context["clashes"]
    assert (clash.stored, clash.typed) == ("broken", "missing")
    assert "broken" in text(page) and stored(job).remarks == ""
    again = fields_of(page)
    assert (again["seal_found"], again["remarks"], again["tag_typed"]) == (
        "missing",
        "corroded",
        "PSV-1",
    )
    mechanic.post(url(job, "arrival"), again)
    assert (stored(job).seal_found, stored(job).remarks) == ("missing", "corroded")
    assert stored(job).tag_typed == "PSV-1"


def test_a_third_save_between_is_a_clash_again(mechanic, other, job):
    mine = mechanic.get(url(job, "arrival"))
    send(other, job, "arrival", seal_found="broken")
    page = send(mechanic, job, "arrival", page=mine, seal_found="missing")
    send(other, job, "arrival", seal_found="cut")
    page = mechanic.post(url(job, "arrival"), fields_of(page))
    [clash] = page.context["clashes"]
    assert (clash.stored, clash.typed) == ("cut", "missing")


def test_the_same_form_sent_twice_changes_nothing_more(mechanic, job):
    page = mechanic.get(url(job, "inspect"))
    typed = {"0-part": "disc", "0-condition": "scored"}
    for _ in range(2):
        send(mechanic, job, "inspect", page=page, **typed)
    assert list(job.findings.values_list("part", "condition")) == [("disc", "scored")]


def test_two_people_s_findings_stand_side_by_side(mechanic, other, job):
    """Both typed into the first blank row: two findings, never a mixture of both."""
    mine, theirs = mechanic.get(url(job, "inspect")), other.get(url(job, "inspect"))
    send(
        other,
        job,
        "inspect",
        page=theirs,
        **{"0-part": "disc", "0-condition": "scored", "0-action": "lapped"},
    )
    send(mechanic, job, "inspect", page=mine, **{"0-part": "nozzle", "0-condition": "worn"})
    found = sorted(job.findings.values_list("part", "condition", "action"))
    assert found == [("disc", "scored", "lapped"), ("nozzle", "worn", "")]


def test_two_people_in_one_setting_clash_by_its_name(shop, mechanic, other, job):
    shop.point(setting="upper_ring")
    mine, theirs = mechanic.get(url(job, "as_found")), other.get(url(job, "as_found"))
    send(other, job, "as_found", page=theirs, lower_ring="4", upper_ring="11")
    page = send(mechanic, job, "as_found", page=mine, lower_ring="3")
    [clash] = page.context["clashes"]
    assert (clash.label, clash.stored, clash.typed) == ("lower ring", "4 notches", "3")
    assert fields_of(page)["upper_ring"] == "11 notches"


# Signed out while typing


def test_what_was_typed_survives_a_session_that_ended(shop, mechanic, job):
    fields = fields_of(mechanic.get(url(job, "arrival")))
    fields |= {"remarks": "five lines\nof what I saw", "seal_found": "broken “x”"}
    mechanic.logout()
    page = mechanic.post(url(job, "arrival"), fields)
    assert page.status_code == 403 and "of what I saw" in text(page)
    assert stored(job).remarks == ""
    signed = fields_of(page) | {"username": shop.mechanic.username, "password": factories.PASSWORD}
    page = mechanic.post(reverse("sign_in"), signed)
    again = fields_of(page, url(job, "arrival"))
    assert again["remarks"] == "five lines\nof what I saw"
    mechanic.post(url(job, "arrival"), again)
    assert (stored(job).remarks, stored(job).seal_found) == (
        "five lines\nof what I saw",
        "broken “x”",
    )


def test_what_was_typed_survives_a_stale_token_and_merges_with_what_others_saved(shop, job, other):
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(shop.mechanic)
    fields = fields_of(strict.get(url(job, "arrival")))
    send(other, job, "arrival", seal_found="broken")
    typed = fields | {"remarks": "corroded", "csrfmiddlewaretoken": "x" * 64}
    page = strict.post(url(job, "arrival"), typed)
    assert page.status_code == 403 and "corroded" in text(page)
    strict.post(url(job, "arrival"), fields_of(page, url(job, "arrival")))
    assert (stored(job).remarks, stored(job).seal_found) == ("corroded", "broken")
