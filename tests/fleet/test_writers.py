"""Several writers at once, on PostgreSQL: they come one after another, and none is lost."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from threading import Barrier

import pytest
from django.db import connection, connections

from fleet import audit, ledger, stamps
from fleet.actions import installations
from fleet.faults import Refused
from fleet.models import AuditEntry, Installation, ObligationSpan, ServiceEvent, User
from fleet.reports import proof
from inspections.actions.start import start
from inspections.models import Inspection
from tests import factories

ROOT = Path(__file__).resolve().parent.parent.parent
NOON = datetime(2024, 6, 1, 12, tzinfo=UTC)
TURNS = 8

at_once = pytest.mark.django_db(transaction=True)
on_postgres = pytest.mark.skipif(
    connection.vendor != "postgresql", reason="SQLite admits one writer at a time by itself"
)


def together(*works):
    """Run these side by side, each on its own connection; raise what any of them raises."""
    gate = Barrier(len(works))

    def run(work):
        try:
            gate.wait()
            return work()
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(works)) as pool:
        return [future.result(timeout=60) for future in [pool.submit(run, w) for w in works]]


@pytest.fixture
def moved():
    """A device, two positions that owe a bench test, and somebody who writes."""
    device, by = factories.DeviceFactory(), factories.UserFactory()
    rule = factories.IntervalRuleFactory()
    owed = [
        factories.ObligationFactory(position__unit__site=device.site, rule=rule) for _ in range(2)
    ]
    places = [row.position for row in owed]
    ledger.replay_positions([place.pk for place in places], at=NOON)
    return device, places, by


def record_tests(device, by, start_on):
    for turn in range(TURNS):
        day = start_on + timedelta(days=turn)
        event = ServiceEvent(
            site=device.site, device=device, activity="bench_test", done_on=day, ref=f"R{day}"
        )
        ledger.record([event], by=by, at=NOON)


def move_about(device, places, by):
    for turn in range(TURNS):
        day = date(2023, 1, 1) + timedelta(days=30 * turn)
        spell = Installation(position=places[turn % 2], device=device, installed_on=day)
        with audit.writing():
            installations.fit([spell], by=by, at=NOON)
            ledger.replay_positions(ledger.concerned_by([spell]), at=NOON)
        with audit.writing():
            installations.remove([(spell, day + timedelta(days=30), "")], by=by, at=NOON)
            ledger.replay_positions(ledger.concerned_by([spell]), at=NOON)


@on_postgres
@at_once
def test_events_and_moves_of_one_device_at_once_leave_what_a_replay_gives(moved):
    device, places, by = moved
    together(
        lambda: record_tests(device, by, date(2022, 12, 1)),
        lambda: move_about(device, places, by),
        lambda: record_tests(device, by, date(2023, 5, 1)),
    )
    assert ServiceEvent.objects.count() == 2 * TURNS
    assert ledger.differences(places) == [] and stamps.differences(places) == []
    assert ObligationSpan.objects.known().filter(state="dated").exists()
    numbers = list(AuditEntry.objects.values_list("number", flat=True))
    assert numbers == list(range(1, 4 * TURNS + 1))
    assert [d for d in proof.differences() if d.kind == "chain"] == []


@on_postgres
@at_once
def test_voiding_and_recording_in_one_go_never_wait_in_a_circle(moved):
    """As a correction does: one event voided, another written, while others write too."""
    device, places, by = moved
    spell = Installation(position=places[0], device=device, installed_on=date(2022, 1, 1))
    installations.fit([spell], by=by, at=NOON)

    def correct(day):
        for _ in range(TURNS):
            event = ServiceEvent(
                site=device.site, device=device, activity="overhaul", done_on=day, ref="R"
            )
            ledger.record([event], by=by, at=NOON)
            with audit.writing():
                ledger.void([event], reason="corrected", by=by, at=NOON)
                again = ServiceEvent(
                    site=device.site, device=device, activity="overhaul", done_on=day, ref="R"
                )
                ledger.record([again], by=by, at=NOON)

    together(lambda: correct(date(2023, 1, 1)), lambda: correct(date(2023, 2, 1)))
    assert ledger.differences(places) == []


@on_postgres
@at_once
def test_two_people_cannot_both_open_a_job_on_one_device(moved):
    device, _, by = moved
    other = factories.UserFactory()

    def open_job(person):
        try:
            return start(device, activity="overhaul", done_on=date(2024, 5, 1), by=person, at=NOON)
        except Refused as refused:
            return refused

    answers = together(lambda: open_job(by), lambda: open_job(other))
    assert sum(isinstance(answer, Inspection) for answer in answers) == 1
    assert Inspection.objects.count() == 1


@on_postgres  # on SQLite a file in WAL does the same; the tests' database is no file
@at_once
def test_readers_do_not_wait_for_a_writer():
    with audit.writing():
        User.objects.create_user("someone")
        [found] = together(lambda: list(proof.differences()))
    assert not any("someone" in str(difference) for difference in found)


def test_every_action_takes_its_turn():
    """A writer that opened a plain transaction would take row locks before its turn."""
    actions = [*ROOT.glob("fleet/actions/*.py"), *ROOT.glob("inspections/actions/*.py")]
    assert [str(path) for path in actions if "transaction.atomic" in path.read_text()] == []
