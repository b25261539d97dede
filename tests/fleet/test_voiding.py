"""A fitting that was written down by mistake, taken back: as though it had never been, on record.

What must hold is common practice for kept records: a mistake is struck out and signed, with its
reason, and stays readable; what follows from the true facts is what followed before it.
"""

from datetime import UTC, date, timedelta

import pytest
from django.core.management import call_command

from fleet import ledger
from fleet.actions import installations, obligations
from fleet.faults import Refused
from fleet.models import (
    AuditEntry,
    Installation,
    Obligation,
    ObligationSpan,
    Position,
    ServiceEvent,
    User,
)
from fleet.reports.due_lines import View, fitted_on
from tests import factories
from tests.fleet.honest import NOON, audit_new, found, honest_event, honest_site
from tests.fleet.random_history import Plant

pytestmark = pytest.mark.django_db
LATER = NOON + timedelta(days=1)
KINDS = [("bench_test", "done_on"), ("bench_test", "installed_on"), ("replacement", "done_on")]


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = date(2024, 6, 1)


@pytest.fixture
def by():
    honest_event(honest_site())
    return User.objects.get()


@pytest.fixture
def places(by):
    """PSV-1, where the tested D stands since 29 February 2020, and PSV-2, where nothing does."""
    first = Position.objects.get()
    second = factories.PositionFactory.build(site=first.site, unit=first.unit, tag="PSV-2")
    audit_new(second, by)
    audit_new(factories.PositionDutyFactory.build(position=second, recorded_by=by), by)
    for place in (first, second):
        for activity, counts_from in KINDS:
            rule = factories.IntervalRuleFactory.build(recorded_by=by)
            audit_new(rule, by)
            row = Obligation(position=place, activity=activity, rule=rule, counts_from=counts_from)
            obligations.owe([row], by=by, at=NOON)
    ledger.replay_positions([first.pk, second.pk], at=NOON)
    return first, second


def fit(place, device, start, end=None, *, by, at=NOON):
    spell = Installation(position=place, device=device, installed_on=start, removed_on=end)
    installations.fit([spell], by=by, at=at)
    ledger.replay_positions(ledger.concerned_by([spell]), at=at)
    return spell


def void(spell, by, reason="it was another device", at=LATER):
    installations.void(spell, reason=reason, by=by, at=at)


def answers():
    """Every due date known now, and the list of today."""
    names = ("obligation", "from_on", "until_on", "state", "due_on", "last_on", "device", "limit")
    lines = [
        (line.position.tag, line.activity, line.state, line.due_on, line.device_id)
        for position in Position.objects.order_by("pk")
        for line in position.due_lines.select_related("position").order_by("obligation")
    ]
    return sorted(ObligationSpan.objects.known().values_list(*names), key=str), lines


def assert_proved(capsys):
    assert found() == []
    call_command("check_due_dates")
    assert " 0 differences" in capsys.readouterr().out


def test_both_positions_owe_again_what_they_owed_before_the_fitting(by, places, capsys):
    """D left PSV-1 and was then written down at PSV-2, where it never was."""
    first, second = places
    spell = first.installations.get()
    installations.remove([(spell, date(2023, 1, 1), "")], by=by, at=NOON)
    ledger.replay_positions(ledger.concerned_by([spell]), at=NOON)
    event = ServiceEvent(site=first.site, device=spell.device, activity="bench_test")
    event.done_on, event.ref = date(2023, 2, 1), "R2"
    ledger.record([event], by=by, at=NOON)
    before = answers()
    wrong = fit(second, spell.device, date(2023, 3, 1), by=by)
    assert answers() != before
    void(wrong, by)
    assert answers() == before
    assert_proved(capsys)


def test_it_stays_on_record_with_who_and_why(by, places):
    spell = places[0].installations.get()
    void(spell, by, "  it was \n another device ")
    assert not Installation.objects.exists()
    kept = Installation.everything.get()
    assert (kept.voided_by, kept.voided_at, kept.removed_on) == (by, LATER, None)
    assert kept.void_reason == "it was another device"
    entry = AuditEntry.objects.order_by("number").last()
    assert (entry.action, entry.aggregate) == ("fitting voided", f"installation:{spell.pk}")
    assert "it was another device" in entry.after


@pytest.mark.parametrize("end", [None, date(2022, 1, 1)])
def test_its_days_can_be_fitted_again(by, places, capsys, end):
    wrong = places[0].installations.get()
    device = factories.DeviceFactory.build(site=places[0].site, model=None)
    audit_new(device, by)
    with pytest.raises(Refused):
        fit(places[0], device, date(2021, 1, 1), end, by=by)
    void(wrong, by)
    fit(places[0], device, wrong.installed_on, end, by=by)
    fit(places[1], wrong.device, wrong.installed_on, by=by)
    assert Installation.objects.count() == 2
    assert_proved(capsys)


def test_the_same_fitting_again_gives_the_same_dates(by, places, capsys):
    before, spell = answers(), places[0].installations.get()
    void(spell, by)
    assert {line[2] for line in answers()[1]} == {"no_device"}
    fit(places[0], spell.device, spell.installed_on, by=by, at=LATER)
    assert answers() == before
    assert_proved(capsys)


@pytest.mark.parametrize("reason", ["", " \n "])
def test_without_a_reason_nothing_is_taken_back(by, places, reason):
    before = (answers(), AuditEntry.objects.count())
    with pytest.raises(Refused) as refused:
        void(places[0].installations.get(), by, reason)
    assert [fault.field for fault in refused.value.faults] == ["reason"]
    assert (answers(), AuditEntry.objects.count()) == before
    assert Installation.objects.count() == 1


def test_nothing_is_taken_back_twice(by, places, capsys):
    spell = places[0].installations.get()
    stale = Installation.objects.get(pk=spell.pk)
    void(spell, by)
    with pytest.raises(Refused) as refused:
        void(stale, by, "once more")
    [fault] = refused.value.faults
    assert "took this one back on 2024-06-02" in fault.expected
    assert Installation.everything.get().void_reason == "it was another device"
    assert_proved(capsys)


def test_what_was_known_before_it_was_taken_back_can_still_be_asked(by, places):
    spell, day = places[0].installations.get(), date(2024, 5, 1)
    void(spell, by)
    then, now = View(day, NOON.astimezone(UTC)), View(day, LATER)
    assert [row.pk for row in fitted_on(then)] == [spell.pk]
    assert not fitted_on(now).exists() and not fitted_on(View(day)).exists()


@pytest.mark.parametrize("seed", range(12))
def test_a_mistake_taken_back_leaves_any_history_as_it_was(seed):
    """And any one of its spells taken back leaves what the other facts alone say."""
    plant = Plant(seed)
    plant.record(plant.steps)
    before = [plant.stored(owed) for owed in plant.owed]
    wrong = somewhere(plant)
    plant.at += timedelta(hours=1)
    void(wrong, plant.by, at=plant.at)
    assert [plant.stored(owed) for owed in plant.owed] == before
    key, spell = plant.dice.choice(sorted(plant.spells.items(), key=lambda item: item[0]))
    del plant.spells[key]
    void(spell, plant.by, at=plant.at)
    for owed in plant.owed:
        assert plant.stored(owed) == plant.said_by_facts(owed)


def somewhere(plant) -> Installation:
    """A fitting the plant has room for, of a device that served or of none yet."""
    devices = [*plant.devices, factories.DeviceFactory(site=plant.unit.site)]
    while True:
        start = date(2015, 1, 1) + timedelta(plant.dice.randrange(5000))
        end = start + timedelta(plant.dice.randint(1, 400))
        device, place = plant.dice.choice(devices), plant.dice.choice(plant.positions)
        try:
            return fit(place, device, start, end, by=plant.by, at=plant.at)
        except Refused:
            continue
