"""The group is the unit of replay: what is recorded at one member re-dates the others.

The rule's figures are those of class 1 in ASME OM Appendix I, I-1320: a fifth in any 24 months,
rounded up, each within 5 years, two more after a failure, all after a failure among those. Of six,
two: the dates are worked out by hand from that, the tests made up.
"""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.management import call_command

from fleet import audit, ledger, stamps
from fleet.actions import fitting, happenings, obligations
from fleet.models import AuditEntry, Installation, ObligationSpan, OutOfService, ServiceEvent
from tests import factories
from tests.fleet.sampled import NOON, TODAY, record, sampled
from tests.fleet.test_writers import at_once, on_postgres, together

GAPS = [("2023-01-01", "gap"), ("2023-02-01", "gap"), ("2023-03-01", "gap"), ("2023-04-01", "gap"),
        ("2024-05-01", "gap"), ("2024-06-01", "gap")]  # fmt: skip
BEFORE = [("2021-05-01", "sample"), ("2021-06-01", "sample"), *GAPS[2:]]


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def group(db):
    return sampled()


def agrees(group):
    """What is stored is what a replay gives, spans and lines, and the command finds nothing."""
    assert ledger.differences(group.places) == [] and stamps.differences(group.places) == []
    call_command("check_due_dates")
    return True


def known(group):
    names = ("from_on", "until_on", "state", "due_on", "last_on", "event", "limit", "device")
    spans = ObligationSpan.objects.known().filter(obligation__in=group.owed)
    return sorted(map(str, spans.values_list("obligation", *names)))


def test_two_of_six_owe_before_the_last_two_tests_leave_the_window(group):
    assert group.dues() == BEFORE and agrees(group)


def test_a_test_at_one_member_re_dates_another(group):
    group.test(0, "2020-03-01")
    assert group.dues() == [
        ("2025-03-01", "gap"),
        ("2021-06-01", "sample"),
        ("2022-03-01", "sample"),
        *GAPS[3:],
    ]
    assert agrees(group)


def test_a_failure_at_one_member_calls_in_two_others(group):
    group.test(0, "2020-03-01", "5.1", "high")
    assert group.dues()[1:4] == [("2020-03-01", "expansion"), ("2020-03-01", "expansion"), GAPS[3]]
    group.test(1, "2020-03-20", "-4", "low")
    whole = [("2020-03-20", "whole_group")] * 3
    assert group.dues()[2:] == [("2020-03-01", "whole_group"), *whole]
    assert agrees(group)


def test_what_did_not_count_for_its_own_clock_calls_in_others_too(group):
    group.test(0, "2020-03-01", "5.1", "high", is_counted=False)
    assert group.dues()[:3] == [BEFORE[0], ("2020-03-01", "expansion"), ("2020-03-01", "expansion")]
    assert agrees(group)


@pytest.mark.parametrize("verdict", [("5.1", "high"), ("0.5", "in")])
def test_voiding_it_restores_every_member_exactly(group, verdict):
    before, stored = group.dues(), known(group)
    event = group.test(0, "2020-03-01", *verdict)
    assert group.dues() != before
    ledger.void([event], reason="of another valve", by=group.by, at=NOON + timedelta(days=1))
    assert group.dues() == before and known(group) == stored and agrees(group)


def test_taking_a_device_out_re_dates_those_who_stay(group):
    """Of six, one with nothing in it, which answers for nobody: two of the others, and its own
    test is no longer in the window."""
    out(group, 5)
    owing = [("2020-04-01", "sample"), ("2021-05-01", "sample")]
    assert group.dues() == [*owing, *GAPS[2:5], (None, "")]
    assert agrees(group)


def test_a_spare_brings_its_own_record_into_the_group(group):
    spare = factories.DeviceFactory(site=group.places[0].site)
    record(spare, "2020-01-15", by=group.by)
    out(group, 5, spare)
    assert group.dues()[:2] == [("2021-05-01", "sample"), ("2022-01-15", "sample")]
    assert group.dues()[5] == ("2025-01-15", "gap") and agrees(group)


def out(group, number, device=None, on=date(2020, 3, 1)):
    place = group.places[number]
    standing = fitting.standing_at(place)
    move = fitting.Move(place, on, standing.pk, device)
    faults = fitting.mismatches(place, device, on) if device else []
    if faults:
        move = fitting.Move(
            place, on, standing.pk, device, reason="seen", accepted=fitting.said(faults)
        )
    fitting.move(move, by=group.by, at=NOON)


def end(group, number, on=date(2020, 3, 1)):
    with audit.writing():
        obligations.end([(group.owed[number], on)], by=group.by, at=NOON)
        ledger.replay_positions([group.places[number].pk], at=NOON)


def test_ending_what_one_owes_makes_a_smaller_group(group):
    """A fifth of five is one."""
    end(group, 5)
    assert group.dues() == [("2021-05-01", "sample"), *GAPS[1:5], (None, "gone")]
    assert agrees(group)


def test_the_last_one_may_leave(group):
    for number in range(6):
        end(group, number)
    assert group.dues() == [(None, "gone")] * 6 and agrees(group)
    spans = ObligationSpan.objects.known().on(date(2020, 2, 29)).filter(obligation__in=group.owed)
    assert spans.count() == 6  # what was true before is still on record


def test_days_out_of_service_at_one_re_date_the_others_until_it_is_back(group):
    span = OutOfService(position=group.places[5], from_on=date(2020, 3, 1))
    happenings.lay_up([span], by=group.by, at=NOON)
    assert group.dues() == [("2021-05-01", "sample"), *GAPS[1:5], (None, "")] and agrees(group)
    happenings.bring_back([(span, date(2020, 5, 1))], by=group.by, at=NOON)
    assert group.dues() == BEFORE and agrees(group)


def test_a_device_that_leaves_for_another_group_takes_its_tests_along(group):
    """A late record of what served in two groups re-dates both."""
    other = sampled(unit=group.places[0].unit, rule=group.owed[0].rule, group="Dryers", prefix="D-")
    out(group, 0)
    out(other, 0, group.devices[0])
    before = (group.dues(), other.dues())
    record(group.devices[0], "2020-03-01", "6", "high", by=group.by)
    assert group.dues()[1:3] == [("2020-03-01", "expansion")] * 2  # it had served here
    assert other.dues()[0] == ("2025-03-01", "gap") and (group.dues(), other.dues()) != before
    assert agrees(group) and agrees(other)


TURNS = 6


@on_postgres
@at_once
def test_many_writers_at_one_group_lose_nothing_and_leave_what_a_replay_gives():
    group = sampled()
    at = datetime(2020, 6, 2, tzinfo=UTC)

    def writer(number):
        def write():
            for turn in range(TURNS):
                on = date(2019, 7, 1) + timedelta(days=7 * turn + number)
                high = (turn + number) % 4 == 0
                found = ("5", "high") if high else ("0.5", "in")
                record(group.devices[number], str(on), *found, by=group.by, at=at)

        return write

    def moves():
        for turn in range(TURNS):
            on = date(2019, 9, 1) + timedelta(days=10 * turn)
            with audit.writing():
                spell = Installation.objects.get(position=group.places[5], removed_on=None)
                move = fitting.Move(group.places[5], on, spell.pk)
                fitting.move(move, by=group.by, at=at)
            fitting.move(fitting.Move(group.places[5], on + timedelta(days=5), None,
                         group.devices[5]), by=group.by, at=at)  # fmt: skip

    together(*(writer(number) for number in range(5)), moves)
    assert ServiceEvent.objects.count() == 6 + 5 * TURNS
    assert ledger.differences(group.places) == [] and stamps.differences(group.places) == []
    numbers = list(AuditEntry.objects.values_list("number", flat=True))
    assert numbers == list(range(1, len(numbers) + 1))
