"""Fitting, taking out and swapping on a position's page.

What must hold is the definition of the job: a position's dates run on the record of the device that
is installed, from the day it is installed; an untested device brings none (common practice).
"""

from datetime import date

import pytest
from django.core.management import call_command
from django.test import Client

from fleet import ledger
from fleet.actions import obligations
from fleet.models import AuditEntry, Device, Installation, Obligation, Position, ServiceEvent, User
from tests import factories
from tests.fleet.honest import NOON, audit_new, found, honest_event, honest_site
from tests.fleet.views.signed_in import signed_in, text

pytestmark = pytest.mark.django_db
TODAY = date(2026, 10, 31)
ALIKE = {"nameplate_set": "150 psig", "orifice": "J", "inlet": "2 in 150#", "outlet": "3 in 150#"}


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def place():
    """150 psig, 5 years from test to test; D-1, tested 1 January 2020, stands there."""
    honest_event(honest_site())
    return Position.objects.get()


@pytest.fixture
def mechanic(place):
    by = User.objects.get()
    person = factories.UserFactory.build(name="Eve Tarn", username="eve")
    audit_new(person, by)
    audit_new(factories.MembershipFactory.build(user=person, site=place.site, role="mechanic"), by)
    client = Client()
    client.force_login(person)
    client.user = person
    return client


def spare(place, number="S-2", *, tested=None, **extra):
    """A device on the shelf, with its one counted test."""
    by = User.objects.order_by("pk").first()
    fields = {"number": number, "site": place.site, "model": None, **ALIKE, **extra}
    device = factories.DeviceFactory.build(**fields)
    audit_new(device, by)
    if tested:
        event = ServiceEvent(
            site=place.site, device=device, activity="bench_test", done_on=tested, ref=number
        )
        ledger.record([event], by=by, at=NOON)
    return device


def another_place(place, tag="PSV-2"):
    row = factories.PositionFactory(unit=place.unit, tag=tag)
    factories.PositionDutyFactory(position=row)
    return row


def sent(client, place, device="S-2", on="2026-06-01", *, what="fit", **more):
    """The form as the page lays it, with what was typed."""
    form = client.get(f"/positions/{place.pk}/{what}/").context["form"]
    data = {"standing": form["standing"].value() or "", "on": on, "device": device, **more}
    return client.post(f"/positions/{place.pk}/{what}/", data)


def standing(place):
    return place.installations.standing().select_related("device").first()


def line(place):
    return place.due_lines.get()


def errors(response):
    return {name: list(said) for name, said in response.context["form"].errors.items()}


def assert_proved(capsys):
    assert found() == []
    call_command("check_due_dates")
    assert " 0 differences" in capsys.readouterr().out


def test_a_swap_moves_the_due_date_to_the_incoming_devices_record(mechanic, place, capsys):
    assert line(place).due_on == date(2025, 1, 1)
    spare(place, tested=date(2025, 3, 10))
    response = sent(mechanic, place, fitted_by=mechanic.user.pk)
    assert response.status_code == 302
    old, new = place.installations.order_by("installed_on")
    assert (old.removed_on, old.closed_by) == (new.installed_on, mechanic.user)
    assert (new.device.number, new.installed_on) == ("S-2", date(2026, 6, 1))
    assert (new.fitted_by, new.recorded_by, new.override_reason) == (*[mechanic.user] * 2, "")
    assert line(place).due_on == date(2030, 3, 10)
    assert_proved(capsys)
    said = text(mechanic.get(response["Location"]))
    assert "S-2 is fitted since 1 Jun 2026." in said
    assert "Bench test due 10 Mar 2030: " in said


def test_an_untested_device_brings_no_record_and_never_the_old_date(mechanic, place, capsys):
    spare(place)
    response = sent(mechanic, place)
    assert (line(place).state, line(place).due_on) == ("no_record", None)
    assert "Bench test: no record." in text(mechanic.get(response["Location"]))
    assert_proved(capsys)


def test_taken_out_the_position_has_no_device_and_its_next_is_fitted_later(mechanic, place, capsys):
    out = sent(mechanic, place, what="take-out")
    assert out.status_code == 302 and standing(place) is None
    assert line(place).state == "no_device"
    assert "Fit a device" in text(mechanic.get(out["Location"]))
    spare(place, tested=date(2026, 5, 1))
    assert "no day before 1 Jun 2026" in errors(sent(mechanic, place, on="2026-05-31"))["on"][0]
    assert sent(mechanic, place, on="2026-06-01").status_code == 302
    assert line(place).due_on == date(2031, 5, 1)
    assert_proved(capsys)


def test_a_mismatch_asks_for_a_reason_and_keeps_it_with_a_name(mechanic, place, capsys):
    spare(
        place, tested=date(2026, 1, 1), nameplate_set="165 psig", shelf_expires_on=date(2026, 2, 1)
    )
    first = sent(mechanic, place)
    assert first.status_code == 422
    assert errors(first)["override_reason"] == [
        "Its nameplate says 165 psig, the position asks for 150 psig.",
        "Its shelf life ended on 1 Feb 2026, before 1 Jun 2026.",
    ]
    shown = first.context["form"]
    assert shown["device"].value() == "S-2"
    accepted, typed = shown["accepted"].value(), "Reset to 150 psig;\r\ntag new"
    saved = sent(mechanic, place, accepted=accepted, override_reason=typed)
    assert standing(place).override_reason == "Reset to 150 psig; tag new"
    page = text(mechanic.get(saved["Location"]))
    assert "did not match: Reset to 150 psig; tag new (written down by Eve Tarn)" in page
    assert_proved(capsys)


def test_a_reason_answers_only_the_mismatches_that_were_shown(mechanic, place):
    spare(place, nameplate_set="165 psig")
    unseen = sent(mechanic, place, override_reason="known to us")
    assert unseen.status_code == 422
    spare(place, "S-3", nameplate_set="300 psig")
    accepted = unseen.context["form"]["accepted"].value()
    other = sent(mechanic, place, "S-3", override_reason="known to us", accepted=accepted)
    assert "300 psig" in errors(other)["override_reason"][0]
    assert other.context["form"]["override_reason"].value() == "known to us"
    nothing = sent(mechanic, place, override_reason="n/a", accepted=accepted)
    assert "words that say it" in errors(nothing)["override_reason"][0]
    assert Installation.objects.count() == 1


@pytest.mark.parametrize(
    ("name", "mine", "said"),
    [
        ("orifice", "H", "Its orifice is H, that of D-9, fitted here last, is J."),
        ("inlet", "3 in", "Its inlet is 3 in, that of D-9, fitted here last, is 2 in 150#."),
        ("outlet", "4 in", "Its outlet is 4 in, that of D-9, fitted here last, is 3 in 150#."),
        ("kind", "pilot", "Its kind is pilot, that of D-9, fitted here last, is spring."),
    ],
)
def test_it_is_held_against_what_stood_there_last(mechanic, place, name, mine, said):
    spare(place, "D-9", tested=date(2025, 1, 1))
    sent(mechanic, place, "D-9", on="2026-05-01")
    spare(place, **{name: mine})
    assert errors(sent(mechanic, place))["override_reason"] == [said]


def test_what_could_not_be_compared_is_said_and_a_reason_not_needed_is_not_kept(mechanic, place):
    spare(place, nameplate_set=None)
    page = text(mechanic.get(sent(mechanic, place, override_reason="because")["Location"]))
    assert "particulars do not say: nameplate set pressure." in page
    assert "the reason was not needed" in page and standing(place).override_reason == ""


def refused(mechanic, place, **form):
    """The faults; nothing was written."""
    before = (Installation.objects.count(), AuditEntry.objects.count())
    response = sent(mechanic, place, **form)
    assert response.status_code == 422
    assert (Installation.objects.count(), AuditEntry.objects.count()) == before
    return errors(response)


def test_a_device_installed_elsewhere_is_refused_at_its_field(mechanic, place):
    device = spare(place)
    factories.InstallationFactory(position=another_place(place), device=device)
    assert refused(mechanic, place)["device"] == [
        "“S-2”: expected a free device; it is fitted at PSV-2 since 1 Jan 2020."
    ]


def test_a_device_that_stood_elsewhere_on_that_day_is_refused(mechanic, place):
    spell = {"installed_on": date(2020, 1, 1), "removed_on": date(2026, 7, 1)}
    factories.InstallationFactory(position=another_place(place), device=spare(place), **spell)
    said = refused(mechanic, place)["device"][0]
    assert "it stood at PSV-2 until 1 Jul 2026" in said
    assert sent(mechanic, place, on="2026-07-01").status_code == 302  # out and in on one day


@pytest.mark.parametrize("status", ["scrapped", "quarantined"])
def test_what_is_scrapped_or_quarantined_is_refused(mechanic, place, status):
    spare(place, status=status)
    assert refused(mechanic, place)["device"] == [f"“S-2”: expected a device that is not {status}."]


@pytest.mark.parametrize(
    ("on", "said"),
    [
        ("2026-11-01", "expected a day that is not in the future"),
        ("2020-02-29", "a day after 29 Feb 2020"),
        ("1.6.2026", "A day such as 2027-05-01 was expected."),
    ],
)
@pytest.mark.parametrize("what", ["fit", "take-out"])
def test_a_day_that_cannot_be_is_refused_and_stays_as_typed(mechanic, place, on, said, what):
    spare(place)
    response = sent(mechanic, place, on=on, what=what)
    assert (response.status_code, Installation.objects.count()) == (422, 1)
    assert said in errors(response)["on"][0]
    assert f'value="{on}"' in text(response)


def test_a_device_is_named_by_its_serial_and_an_unknown_or_shared_one_is_refused(mechanic, place):
    spare(place, "S-2", serial="7001")
    spare(place, "S-3", serial="7002")
    spare(place, "S-4", serial="7002")
    assert refused(mechanic, place, device="7002")["device"] == [
        "“7002”: expected one device; it could be S-3, S-4."
    ]
    assert "of the register" in refused(mechanic, place, device="X")["device"][0]
    assert sent(mechanic, place, "7001").status_code == 302
    assert standing(place).device.number == "S-2"


def test_neither_a_device_of_another_site_nor_the_one_that_stands_there_goes_in(mechanic, place):
    factories.DeviceFactory(number="S-2")
    assert "of the register" in refused(mechanic, place)["device"][0]
    here = standing(place).device.number
    assert "another device" in refused(mechanic, place, device=here)["device"][0]


def test_a_position_that_changed_meanwhile_is_looked_at_again(mechanic, place):
    spare(place)
    stale = {"device": "S-2", "on": "2026-06-01", "standing": ""}
    response = mechanic.post(f"/positions/{place.pk}/fit/", stale)
    assert "stands here now. Look again" in errors(response)["__all__"][0]
    again = response.context["form"]["standing"].value()
    assert again == str(standing(place).pk)
    assert (
        mechanic.post(f"/positions/{place.pk}/fit/", {**stale, "standing": again}).status_code
        == 302
    )


def test_a_device_of_no_site_comes_to_this_one(mechanic, place, capsys):
    spare(place, site=None)
    sent(mechanic, place)
    assert Device.objects.get(number="S-2").site == place.site
    assert_proved(capsys)


def test_the_position_it_left_keeps_its_own_dates(mechanic, place):
    """S-2 served PSV-2 until May: that position's past is not touched by what follows."""
    device, left = spare(place, tested=date(2024, 1, 1)), another_place(place)
    rule = factories.IntervalRuleFactory()
    by = mechanic.user
    obligations.owe([Obligation(position=left, activity="bench_test", rule=rule)], by=by, at=NOON)
    factories.InstallationFactory(
        position=left, device=device, installed_on=date(2024, 2, 1), removed_on=date(2026, 5, 1)
    )
    ledger.replay_positions([left.pk], at=NOON)
    sent(mechanic, place)
    assert (line(place).due_on, line(left).state) == (date(2029, 1, 1), "no_device")


@pytest.mark.parametrize(("role", "may"), [("planner", 1), ("engineer", 1), ("auditor", 0)])
def test_only_who_may_has_the_buttons_and_others_are_told_so(place, role, may):
    client = signed_in(role, place.site)
    page = text(client.get(f"/positions/{place.pk}/"))
    assert ("Swap it" in page, "Take it out" in page) == (bool(may), bool(may))
    for what in ("fit", "take-out"):
        wanted = 200 if may else 403
        assert client.get(f"/positions/{place.pk}/{what}/").status_code == wanted
    stranger = signed_in("mechanic", factories.SiteFactory())
    assert stranger.get(f"/positions/{place.pk}/fit/").status_code == 404
