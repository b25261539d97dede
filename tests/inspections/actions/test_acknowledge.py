"""Answering a flag: it holds until the flag rests on something else, and is kept for ever."""

from datetime import date

import pytest

from fleet.faults import Refused
from fleet.models import AuditEntry
from inspections.actions.acknowledge import acknowledge, fingerprint_of_statistic
from inspections.kept.catching_up import catch_up
from inspections.models import Acknowledgement, FlagState, SettingState
from tests import factories
from tests.factories import RECORDED_AT
from tests.inspections.reports.records import record, written

pytestmark = pytest.mark.django_db


@pytest.fixture
def device():
    row = factories.DeviceFactory(number="D-1")
    written([record(row, date(2016, 3, 1), found="160 psig")])
    catch_up(at=RECORDED_AT)
    return row


@pytest.fixture
def by():
    return factories.UserFactory()


def flag():
    return FlagState.objects.select_related("state").get(code="out_of_tolerance")


def answer(by, note="The gauge was off that day", **other):
    shown = flag()
    asked = {
        "device": shown.state.device_id,
        "setting": shown.state.setting,
        "code": shown.code,
        "fingerprint": shown.fingerprint,
        **other,
    }
    return acknowledge(**asked, note=note, by=by, at=RECORDED_AT)


def test_it_is_kept_with_who_and_why_and_on_the_chain(device, by):
    said = answer(by, note="  The gauge was off that day ")
    assert (said.note, said.recorded_by) == ("The gauge was off that day", by)
    assert flag().acknowledgement == said
    entry = AuditEntry.objects.latest("number")
    assert (entry.action, entry.aggregate) == ("flag acknowledged", f"acknowledgement:{said.pk}")


def test_what_was_answered_weighs_nothing_but_still_shows(device, by):
    assert SettingState.objects.get().weight > 0
    answer(by)
    catch_up(at=RECORDED_AT)
    state = SettingState.objects.get()
    assert (state.weight, state.device_weight, state.is_flagged) == (0, 0, True)


def test_something_new_opens_it_again_and_the_answer_stays_on_record(device, by):
    answer(by)
    written([record(device, date(2017, 3, 1), found="161 psig")])
    catch_up(at=RECORDED_AT)
    assert flag().acknowledgement is None
    assert Acknowledgement.objects.count() == 1
    assert answer(by).pk == flag().acknowledgement_id


def test_what_does_not_concern_it_leaves_it_answered(device, by):
    said = answer(by)
    written([record(device, date(2017, 3, 1))])
    catch_up(at=RECORDED_AT)
    assert flag().acknowledgement == said


@pytest.mark.parametrize(
    ("other", "field", "expected"),
    [
        ({"note": "  "}, "note", "what was found when it was looked at"),
        ({"code": "sticking"}, "flag", "a flag that stands"),
        ({"setting": "lower_ring"}, "flag", "a flag that stands"),
        ({"fingerprint": "0" * 64}, "flag", "rests on something else by now"),
    ],
)
def test_what_cannot_be_answered_is_refused(device, by, other, field, expected):
    with pytest.raises(Refused) as refused:
        answer(by, **other)
    [fault] = refused.value.faults
    assert fault.field == field and expected in fault.expected
    assert not Acknowledgement.objects.exists()


def test_a_flag_is_answered_once(device, by):
    answer(by)
    with pytest.raises(Refused, match="flag"):
        answer(by, note="Once more")


def test_a_statistic_rests_on_the_devices_own_numbers():
    """Not on the fleet's, which moves a little with every record of any device."""
    own = ("lower_ring in notches", 6, 1.2, 0.5, 0.1)
    assert fingerprint_of_statistic("trending", own) == fingerprint_of_statistic("trending", own)
    assert fingerprint_of_statistic("trending", own) != fingerprint_of_statistic(
        "trending", (*own[:2], 1.3, *own[3:])
    )
