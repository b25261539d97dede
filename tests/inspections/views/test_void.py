"""Taking a mistaken fitting back: on the pages, on the bench, and through the workbook."""

from datetime import date

import pytest
from django.core.management import call_command

from fleet.actions import installations
from fleet.actions.people import command_line_user
from fleet.models import Installation, Position
from inspections.exchange import dump
from tests import factories
from tests.fleet.honest import found
from tests.fleet.views.signed_in import signed_in, text
from tests.inspections.exchange.books import AT, Book, load_folder
from tests.inspections.exchange.test_round_trip import content, emptied, rows_of
from tests.inspections.views.test_fit import another_place, sent, spare, standing
from tests.inspections.views.test_fit import mechanic as mechanic
from tests.inspections.views.test_fit import place as place

pytestmark = pytest.mark.django_db
WRONG_TAG = {"reason": "S-2 went to PSV-9"}


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = date(2026, 10, 31)


def taken_back(client, spell, **data):
    return client.post(f"/installations/{spell.pk}/void/", data)


def fitted_again(client, place, spell):
    """The device does not match, and the reason why it is fitted all the same is given."""
    asked = (client, place, spell.device.number, spell.installed_on.isoformat())
    accepted = sent(*asked).context["form"]["accepted"].value()
    return sent(*asked, accepted=accepted, override_reason="reset in the shop")


def test_a_swap_taken_back_and_the_old_device_fitted_again_owes_as_before(mechanic, place, capsys):
    """The page says that what came out stays out, and leads to what undoes that too."""
    before, old = place.due_lines.get(), standing(place)
    spare(place, tested=date(2025, 3, 10))
    sent(mechanic, place)
    new = standing(place)
    assert place.due_lines.get().due_on == date(2030, 3, 10)
    asked = text(mechanic.get(f"/installations/{new.pk}/void/"))
    assert f"{old.device} stays taken out" in asked
    assert f"/installations/{old.pk}/void/" in asked
    for spell in (new, old):
        assert taken_back(mechanic, spell, **WRONG_TAG).status_code == 302
    assert place.due_lines.get().state == "no_device"
    fitted_again(mechanic, place, old)
    after = place.due_lines.get()
    assert (after.due_on, after.device) == (before.due_on, before.device)
    assert standing(place).installed_on == old.installed_on
    assert found() == []
    call_command("check_due_dates")
    assert " 0 differences" in capsys.readouterr().out


def test_the_pages_say_it_struck_out_and_what_is_owed_now(mechanic, place):
    spell = standing(place)
    page = text(mechanic.get(f"/positions/{place.pk}/"))
    assert f'href="/installations/{spell.pk}/void/">This fitting was a mistake' in page
    response = taken_back(mechanic, spell, **WRONG_TAG)
    said = "taken back by Eve Tarn on 31 Oct 2026: S-2 went to PSV-9"
    page = text(mechanic.get(response["Location"]))
    assert "on 29 Feb 2020 was taken back." in page and "Now: Bench test: " in page
    assert "No device is fitted." in page and said in page
    assert f"/installations/{spell.pk}/void/" not in page
    page = text(mechanic.get(f"/devices/{spell.device_id}/"))
    assert said in page and "It was never fitted." in page


def test_without_a_reason_or_a_second_time_it_is_refused(mechanic, place):
    spell = standing(place)
    response = taken_back(mechanic, spell, reason=" ")
    assert (response.status_code, standing(place)) == (422, spell)
    taken_back(mechanic, spell, **WRONG_TAG)
    response = taken_back(mechanic, spell, reason="again")
    assert response.status_code == 422 and "took this one back on 31 Oct 2026" in text(response)
    assert "took it back already" in text(mechanic.get(f"/installations/{spell.pk}/void/"))


@pytest.mark.parametrize(("role", "may"), [("planner", 1), ("engineer", 1), ("auditor", 0)])
def test_only_who_may_fit_may_take_back(place, role, may):
    client, spell = signed_in(role, place.site), standing(place)
    page = text(client.get(f"/positions/{place.pk}/"))
    assert ("This fitting was a mistake" in page) == bool(may)
    stranger = signed_in("mechanic", factories.SiteFactory())
    assert taken_back(stranger, spell, **WRONG_TAG).status_code == 404
    assert taken_back(client, spell, **WRONG_TAG).status_code == (302 if may else 403)
    assert Installation.objects.exists() != bool(may)


def test_lists_search_and_bench_no_longer_find_the_device_there(mechanic, place):
    spell = standing(place)
    number = spell.device.number
    asked = {"device": place.tag, "activity": "bench_test", "done_on": "2026-10-01"}
    assert number in text(mechanic.get("/register/"))
    taken_back(mechanic, spell, **WRONG_TAG)
    mechanic.get(f"/positions/{place.pk}/")  # reads the message that names it
    assert number not in text(mechanic.get("/register/"))
    assert place.tag not in text(mechanic.get("/devices/"))
    assert number not in text(mechanic.get("/due/"))
    response = mechanic.post("/bench/start/", asked)
    assert response.status_code == 422 and "a tag with a device fitted" in text(response)


def test_it_is_free_to_be_fitted_elsewhere_on_those_very_days(mechanic, place):
    spell, other = standing(place), another_place(place)
    taken_back(mechanic, spell, **WRONG_TAG)
    fitted_again(mechanic, other, spell)
    now = standing(other)
    assert (now.device, now.installed_on) == (spell.device, date(2020, 2, 29))


@pytest.mark.django_db(transaction=True)
def test_the_workbook_neither_sends_it_out_nor_takes_it_for_what_is_stored(tmp_path):
    assert not Book().load(tmp_path).faults
    place, by = Position.objects.get(tag="PSV-2"), command_line_user(at=AT)
    installations.void(place.installations.get(), reason="D-3 went in", by=by, at=AT)
    dump(tmp_path / "out")
    assert [row["tag"] for row in rows_of(tmp_path / "out", "installations")] == ["PSV-1"]
    assert not load_folder(tmp_path / "out").counts  # what went out is what is there
    book = Book()
    book["installations"][1]["device"] = "D-3"  # the same tag and day: fitted rightly
    report = book.load(tmp_path)
    assert not report.faults and report.counts["installations added"] == 1
    assert place.installations.standing().get().device.number == "D-3"
    assert found() == []
    dump(tmp_path / "first")
    emptied()
    assert not load_folder(tmp_path / "first").faults
    dump(tmp_path / "second")
    assert content(tmp_path / "first") == content(tmp_path / "second")
