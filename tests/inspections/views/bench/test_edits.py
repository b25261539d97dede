"""Edits as a tablet sends them while somebody types: kept once, told to others, never lost."""

import json
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from inspections.actions.edits import open_edits
from inspections.forms.edits import LONGEST, MOST
from inspections.models import FieldEdit
from tests import factories
from tests.inspections.views.bench.pages import send, stored, url

pytestmark = pytest.mark.django_db


def edit(shop, job, **columns) -> dict:
    return {
        "uuid": str(uuid4()),
        "user": shop.mechanic.pk,
        "step": "arrival",
        "field": "seal_found",
        "typed": "broken",
        "base_version": job.version,
        "typed_at": "2024-06-01T11:58:00.000Z",
    } | columns


def flush(client, job, *edits, body=None):
    body = json.dumps(edits) if body is None else body
    address = reverse("bench_edits", args=[job.pk])
    return client.post(address, body, content_type="application/json")


def said(client, job) -> dict:
    return client.get(reverse("bench_edits", args=[job.pk])).json()


def typed_in(rows) -> list[tuple]:
    return [(row["step"], row["field"], row["typed"]) for row in rows]


# Kept once


def test_what_is_typed_is_kept_as_it_is_typed(shop, mechanic, job):
    one = edit(shop, job, typed=" 21 1/2/3\n")
    answer = flush(mechanic, job, one)
    assert answer.status_code == 200 and answer.json()["kept"] == [one["uuid"]]
    row = FieldEdit.objects.get()
    assert (row.typed, row.typed_by, row.base_version) == (" 21 1/2/3\n", shop.mechanic, 1)
    assert row.typed_at.isoformat() == "2024-06-01T11:58:00+00:00"
    assert typed_in(answer.json()["mine"]) == [("arrival", "seal_found", " 21 1/2/3\n")]
    assert stored(job).version == job.version and stored(job).seal_found == ""


def test_the_same_edit_sent_again_is_kept_once(shop, mechanic, job):
    one = edit(shop, job)
    for _ in range(2):
        assert flush(mechanic, job, one, one).json()["kept"] == [one["uuid"]] * 2
    assert FieldEdit.objects.count() == 1


def test_a_number_used_for_other_words_keeps_both(shop, mechanic, job):
    """Typed on while the first was under way: the tablet gives the second a number of its own."""
    one = edit(shop, job)
    flush(mechanic, job, one)
    answer = flush(mechanic, job, one | {"typed": "broken, cut"})
    assert answer.status_code == 422 and answer.json()["kept"] == []
    [turned] = answer.json()["turned"]
    assert (turned["uuid"], turned["typed"]) == (one["uuid"], "broken, cut")
    assert FieldEdit.objects.get().typed == "broken"


def test_another_s_number_is_neither_taken_nor_told(shop, mechanic, other, job):
    one = edit(shop, job)
    flush(mechanic, job, one)
    thief = other.get(reverse("bench_edits", args=[job.pk])).json()["user"]
    answer = flush(other, job, one | {"user": thief, "typed": "whole"})
    assert answer.status_code == 422 and answer.json()["kept"] == []
    assert answer.json()["turned"][0]["typed"] == "whole"
    assert FieldEdit.objects.get().typed_by == shop.mechanic


def test_only_who_typed_it_sends_it(shop, other, job):
    """Somebody else signed in on the same tablet."""
    answer = flush(other, job, edit(shop, job))
    assert answer.status_code == 422 and "another person" in answer.json()["turned"][0]["why"]
    assert not FieldEdit.objects.exists()


# What cannot be kept is given back, and costs nothing else


@pytest.mark.parametrize("body", ["", "no JSON", "{}", "[1]", "[" * 100_000, b"\xff"])
def test_what_is_no_list_of_edits_is_said(mechanic, job, body):
    answer = flush(mechanic, job, body=body)
    assert answer.status_code == 422 and "JSON list" in answer.json()["why"]


def test_too_many_at_once_are_refused_whole(shop, mechanic, job):
    answer = flush(mechanic, job, *[edit(shop, job)] * (MOST + 1))
    assert answer.status_code == 422 and not FieldEdit.objects.exists()


@pytest.mark.parametrize(
    ("columns", "why"),
    [
        ({"typed": "x" * (LONGEST + 1)}, f"at most {LONGEST} characters"),
        ({"typed": "a\x00b"}, "control characters"),
        ({"typed": 7}, "text"),
        ({"field": "locked_at"}, "a field of that step"),
        ({"field": "x" * 81}, "a field of that step"),
        ({"field": None}, "a field of that step"),
        ({"step": "nowhere"}, "a step of this job"),
        ({"step": ["arrival"]}, "a step of this job"),
        ({"base_version": -1}, "version"),
        ({"base_version": "1"}, "version"),
        ({"base_version": 2**31}, "version"),
        ({"uuid": "7"}, "UUID"),
        ({"uuid": None}, "UUID"),
        ({"user": None}, "another person"),
    ],
)
def test_one_that_cannot_be_kept_is_given_back_and_the_others_are_kept(
    shop, mechanic, job, columns, why
):
    good, bad = edit(shop, job), edit(shop, job) | columns
    answer = flush(mechanic, job, bad, good)
    assert answer.status_code == 422 and answer.json()["kept"] == [good["uuid"]]
    [turned] = answer.json()["turned"]
    assert why in turned["why"] and turned["typed"] == str(bad["typed"])
    assert FieldEdit.objects.get().typed == "broken"


@pytest.mark.parametrize("typed_at", ["yesterday", None, 7, "+275760-09-13T00:00:00.000Z"])
def test_a_clock_that_cannot_be_read_costs_nothing(shop, mechanic, job, typed_at):
    assert flush(mechanic, job, edit(shop, job, typed_at=typed_at)).status_code == 200
    row = FieldEdit.objects.get()
    assert row.typed_at == row.received_at


def test_a_wrong_clock_orders_nothing(shop, mechanic, job):
    """The tablet's clock ran back a year between two edits: the one that came last is the last."""
    late = edit(shop, job, typed="cut", typed_at="2023-06-01T12:00:00Z")
    answer = flush(mechanic, job, edit(shop, job), late)
    assert typed_in(answer.json()["mine"]) == [("arrival", "seal_found", "cut")]


def test_a_field_of_a_further_row_is_known(shop, mechanic, job):
    one = edit(shop, job, step="inspect", field="9-condition", typed="worn")
    assert flush(mechanic, job, one).status_code == 200


def test_a_locked_record_keeps_nothing_and_gives_it_back(shop, mechanic, locked):
    answer = flush(mechanic, locked, edit(shop, locked, typed="too late"))
    assert answer.status_code == 409
    [turned] = answer.json()["turned"]
    assert turned["typed"] == "too late" and "locked" in turned["why"]
    assert not FieldEdit.objects.exists()


def test_what_was_kept_before_the_lock_is_still_answered_as_kept(shop, mechanic, signed):
    """The answer was lost, the record was locked meanwhile, the tablet sends it again."""
    one = edit(shop, signed)
    flush(mechanic, signed, one)
    shop.verify(signed)
    assert flush(mechanic, signed, one).json()["kept"] == [one["uuid"]]


def test_without_a_fresh_token_nothing_is_kept_and_a_small_get_gives_one(shop, job):
    client = Client(enforce_csrf_checks=True)
    client.force_login(shop.mechanic)
    assert flush(client, job, edit(shop, job)).status_code == 403
    token = said(client, job)["token"]
    answer = client.post(
        reverse("bench_edits", args=[job.pk]),
        json.dumps([edit(shop, job)]),
        content_type="application/json",
        headers={"X-CSRFToken": token},
    )
    assert answer.status_code == 200 and FieldEdit.objects.count() == 1


# What is unsaved


def test_a_saved_step_leaves_nothing_unsaved_of_what_it_held(shop, mechanic, job):
    flush(mechanic, job, edit(shop, job), edit(shop, job, field="remarks", typed="wet"))
    page = send(mechanic, job, "arrival", seal_found="broken", remarks="wet, product")
    assert page.status_code == 200
    assert open_edits(job) == [] and stored(job).remarks == "wet, product"
    assert FieldEdit.objects.filter(typed__gt="").count() == 2  # nothing typed goes away


def test_what_had_not_come_yet_when_the_step_was_saved_comes_as_saved(shop, mechanic, job):
    """The step carries its edits: flushed afterwards they are known, and not unsaved."""
    one = edit(shop, job)
    send(mechanic, job, "arrival", seal_found="broken", edits=json.dumps([one]))
    send(mechanic, job, "arrival", seal_found="whole")
    answer = flush(mechanic, job, one).json()
    assert answer["kept"] == [one["uuid"]] and answer["mine"] == []


@pytest.mark.parametrize("edits", ["", "not JSON", "[7]", '[{"uuid": 1}]'])
def test_a_step_is_saved_whatever_its_edits_say(mechanic, job, edits):
    send(mechanic, job, "arrival", seal_found="broken", edits=edits)
    assert stored(job).seal_found == "broken"


def test_saving_one_step_leaves_the_edits_of_another(shop, mechanic, job):
    flush(mechanic, job, edit(shop, job, step="as_received", field="gauge", typed="PG-1"))
    send(mechanic, job, "arrival", seal_found="broken")
    assert typed_in(said(mechanic, job)["mine"]) == [("as_received", "gauge", "PG-1")]


def test_another_s_save_leaves_mine(shop, mechanic, other, job):
    flush(mechanic, job, edit(shop, job, field="remarks", typed="wet"))
    send(other, job, "arrival", seal_found="whole", remarks="dry")
    assert typed_in(said(mechanic, job)["mine"]) == [("arrival", "remarks", "wet")]


def test_what_the_same_person_typed_on_another_tablet_stands(shop, mechanic, job):
    page = mechanic.get(url(job, "arrival"))
    flush(mechanic, job, edit(shop, job, field="remarks", typed="on the other tablet"))
    send(mechanic, job, "arrival", page=page, seal_found="whole")
    assert typed_in(said(mechanic, job)["mine"]) == [("arrival", "remarks", "on the other tablet")]


def test_a_step_that_was_refused_settles_nothing(shop, mechanic, job):
    flush(mechanic, job, edit(shop, job, step="as_found", field="lower_ring", typed="5/0"))
    send(mechanic, job, "as_found", lower_ring="5/0")
    assert typed_in(said(mechanic, job)["mine"]) == [("as_found", "lower_ring", "5/0")]


def test_what_is_stored_already_is_not_unsaved(shop, mechanic, job):
    send(mechanic, job, "arrival", seal_found="broken")
    assert flush(mechanic, job, edit(shop, job)).json()["mine"] == []


def test_lines_sent_by_a_form_are_the_lines_that_were_typed(shop, mechanic, job):
    send(mechanic, job, "arrival", remarks="wet\r\ncut")
    one = edit(shop, job, field="remarks", typed="wet\ncut")
    assert flush(mechanic, job, one).json()["mine"] == []


def test_what_is_dropped_is_no_longer_unsaved_and_still_there(shop, mechanic, job):
    flush(mechanic, job, edit(shop, job))
    dropped = edit(shop, job, typed=None)
    answer = flush(mechanic, job, dropped).json()
    assert answer["kept"] == [dropped["uuid"]] and answer["mine"] == []
    assert list(FieldEdit.objects.values_list("typed", flat=True)) == ["broken", ""]
    assert flush(mechanic, job, edit(shop, job, typed="cut")).json()["mine"][0]["typed"] == "cut"


# Two people


def test_each_sees_what_the_other_is_typing(shop, mechanic, other, job):
    flush(mechanic, job, edit(shop, job, typed="bro"), edit(shop, job))
    seen = said(other, job)
    assert seen["mine"] == [] and typed_in(seen["others"]) == [("arrival", "seal_found", "broken")]
    assert seen["others"][0]["name"] == str(shop.mechanic)
    assert said(mechanic, job)["others"] == []


def test_a_tablet_is_told_the_version_so_that_it_knows_of_others_saves(mechanic, other, job):
    send(other, job, "arrival", seal_found="broken")
    assert said(mechanic, job)["version"] == job.version + 1


# The worker and the pages it keeps


def test_the_worker_comes_from_the_bench_and_is_never_stale(mechanic):
    answer = mechanic.get(reverse("bench_worker"))
    assert reverse("bench_worker") == reverse("bench") + "sw.js"
    assert answer["Content-Type"].startswith("text/javascript")
    assert "no-cache" in answer["Cache-Control"]


def test_a_page_says_for_whom_and_of_which_version_it_may_be_kept(shop, mechanic, job):
    page = mechanic.get(url(job, "arrival"))
    assert page["X-Bench-User"] == str(shop.mechanic.pk)
    assert page["X-Job-Version"] == str(job.version)
    assert mechanic.get(reverse("bench"))["X-Bench-User"] == str(shop.mechanic.pk)


def test_edits_of_a_site_that_is_not_mine_do_not_exist(shop, job):
    stranger = factories.MembershipFactory(role="mechanic").user
    client = Client()
    client.force_login(stranger)
    answer = flush(client, job, edit(shop, job, user=stranger.pk))
    assert answer.status_code == 404 and not FieldEdit.objects.exists()
