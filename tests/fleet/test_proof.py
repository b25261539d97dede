"""Whatever is changed behind the product's back is found, and named, on both databases.

Each test makes an honest plant through the actions, lifts the locks as an attacker with the
database's own password could, changes something in raw SQL, and asks the proof.
"""

from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import audit, ledger, locks
from fleet.actions import installations, obligations, outages, people, plant, positions
from fleet.models import (
    AuditEntry,
    AuditHead,
    Device,
    Installation,
    Obligation,
    Outage,
    Position,
    PositionDuty,
    ServiceEvent,
    Site,
    Unit,
    User,
)
from fleet.reports import proof
from tests import factories

pytestmark = pytest.mark.django_db
NOON = datetime(2024, 6, 1, 12, 0, 0, 123456, tzinfo=timezone(timedelta(hours=2)))


def sql(statement, *parameters):
    with connection.cursor() as cursor:
        cursor.execute(statement, parameters)


def found():
    return [str(difference) for difference in proof.differences()]


@pytest.fixture
def site():
    """A site with a position, a device fitted, an obligation and a counted event."""
    by = people.command_line_user(at=NOON)
    row = Site(name="Ölwerk")
    plant.add_mentioned([row], by=by, at=NOON)
    unit = Unit(site=row, name="Crude")
    plant.add_mentioned([unit], by=by, at=NOON)
    place = Position(site=row, in_service_on=date(1999, 12, 31))
    duty = PositionDuty(position=place, tag="PSV-1", unit=unit, status="in_service")
    duty.set_pressure = PositionDuty._meta.get_field("set_pressure").to_python("150 psig")
    duty.temperature_multiplier = Decimal("1.02")
    positions.add_positions([duty], by=by, at=NOON)
    return row


@pytest.fixture
def event(site):
    by, place = User.objects.get(), Position.objects.get()
    device = factories.DeviceFactory.build(site=site, model=None, nameplate_set="10.3 barg")
    audit_new(device, by)
    installations.fit(
        [Installation(position=place, device=device, installed_on=date(2020, 2, 29))],
        by=by,
        at=NOON,
    )
    rule = factories.IntervalRuleFactory.build(recorded_by=by)
    audit_new(rule, by)
    obligations.owe([Obligation(position=place, activity="bench_test", rule=rule)], by=by, at=NOON)
    [row] = ledger.record(
        [
            ServiceEvent(
                site=site,
                device=device,
                activity="bench_test",
                done_on=date(2020, 1, 1),
                ref="R1",
                as_found_percent=Decimal("-4.43"),
            )
        ],
        by=by,
        at=NOON,
    )
    return row


def audit_new(row, by):
    row.save()
    audit.record([audit.change("added", row)], by=by, at=NOON)


@pytest.fixture
def broken_open(event):
    locks.lift(connection)
    yield event
    locks.lay(connection)


def test_an_honest_site_has_no_difference(event):
    assert found() == []
    call_command("verify_audit")


def test_the_chain_is_gapless_and_each_entry_follows_the_one_before(event):
    entries = list(AuditEntry.objects.all())
    assert [entry.number for entry in entries] == list(range(1, len(entries) + 1))
    assert [entry.previous for entry in entries] == [
        "0" * 64,
        *(entry.digest for entry in entries[:-1]),
    ]
    head = AuditHead.objects.get()
    assert (head.number, head.digest) == (entries[-1].number, entries[-1].digest)


def test_what_was_refused_leaves_no_gap(event):
    with pytest.raises(ZeroDivisionError), audit.writing():
        audit_new(Unit(site=event.site, name="Gas"), event.recorded_by)
        1 / 0  # noqa: B018
    assert found() == []


# The tables


def test_a_changed_field_is_named_with_what_the_chain_says(broken_open):
    sql("UPDATE fleet_serviceevent SET done_on = %s", "2024-05-05")
    number = AuditEntry.objects.get(action="event recorded").number
    assert (
        f"field: fleet_serviceevent {broken_open.pk}: done_on is '2024-05-05', "
        f"entry {number} says '2020-01-01'" in found()
    )


def test_a_pressure_that_no_longer_reads_is_named(broken_open):
    sql("UPDATE fleet_positionduty SET set_pressure = 'high'")
    [words] = [line for line in found() if "row: fleet_positionduty" in line]
    assert "cannot be read; entry" in words


def test_a_row_put_in_is_named(broken_open):
    sql("INSERT INTO fleet_site (name) VALUES ('nowhere')")
    pk = Site.objects.get(name="nowhere").pk
    assert f"row: fleet_site {pk}: is there, but no entry names it" in found()


def test_a_row_taken_out_is_named(broken_open):
    for table in ("fleet_dueline", "fleet_obligationspan", "fleet_serviceevent"):
        sql(f"DELETE FROM {table}")
    number = AuditEntry.objects.get(action="event recorded").number
    words = f"row: fleet_serviceevent {broken_open.pk}: gone, though entry {number} names it"
    assert words in found()


def test_the_command_fails_and_names_the_difference(broken_open, capsys):
    sql("UPDATE fleet_device SET number = 'D-X'")
    locks.lay(connection)
    with pytest.raises(SystemExit):
        call_command("verify_audit")
    said = capsys.readouterr().out
    assert "number is 'D-X'" in said and "1 differences" in said


# The chain


def test_a_changed_entry_is_named(broken_open):
    sql("UPDATE fleet_auditentry SET action = 'nothing' WHERE number = 3")
    assert "chain: 3: was changed after it was written" in found()


def test_a_changed_entry_with_its_digest_made_right_breaks_the_next(broken_open):
    entry = AuditEntry.objects.get(number=3)
    entry.after = entry.after.replace("Crude", "Crudo")
    sql(
        "UPDATE fleet_auditentry SET after = %s, digest = %s WHERE number = 3",
        entry.after,
        audit.digest(entry),
    )
    words = found()
    assert "chain: 4: does not follow from the entry before it" in words
    assert any("name is 'Crude', entry 3 says 'Crudo'" in line for line in words)


def test_a_missing_entry_is_named(broken_open):
    sql("DELETE FROM fleet_auditentry WHERE number IN (3, 4)")
    assert "chain: 5: entries 3 to 4 are missing" in found()


def test_entries_in_another_order_are_named(broken_open):
    sql("UPDATE fleet_auditentry SET number = 999 WHERE number = 3")
    sql("UPDATE fleet_auditentry SET number = 3 WHERE number = 4")
    sql("UPDATE fleet_auditentry SET number = 4 WHERE number = 999")
    words = found()
    assert "chain: 3: was changed after it was written" in words
    assert "chain: 3: does not follow from the entry before it" in words


def test_an_entry_put_in_is_named(broken_open):
    last = AuditEntry.objects.last()
    last.number, last.action = last.number + 1, "invented"
    last.save(force_insert=True)
    words = found()
    assert f"chain: {last.number}: was changed after it was written" in words
    assert any(line.startswith("chain: head: the head stands at") for line in words)


def test_a_cut_tail_is_named(broken_open):
    last = AuditEntry.objects.last().number
    sql("DELETE FROM fleet_auditentry WHERE number = %s", last)
    assert f"chain: head: the head stands at {last}, the last entry is {last - 1}" in found()


def test_an_emptied_chain_is_named(broken_open):
    last = AuditEntry.objects.last().number
    sql("DELETE FROM fleet_auditentry")
    words = found()
    assert f"chain: head: the head stands at {last}, the last entry is 0" in words
    assert f"row: fleet_site {broken_open.site_id}: is there, but no entry names it" in words


@pytest.mark.parametrize("after", ["[]", "{", '{"fleet_unit": 3}', '{"fleet_unit": {"rows": [1]}}'])
def test_an_entry_that_cannot_be_read_is_named(broken_open, after):
    sql("UPDATE fleet_auditentry SET after = %s WHERE number = 3", after)
    words = found()
    assert "chain: 3: what it says cannot be read" in words
    assert "chain: 3: was changed after it was written" in words


def test_a_lost_lock_is_a_difference(event):
    locks.lift(connection)
    try:
        assert any(line.startswith("lock: fleet_serviceevent_is_never_") for line in found())
    finally:
        locks.lay(connection)


# What rows take away, and how values read back


def test_a_row_that_went_honestly_is_no_difference(event):
    unit = Unit(site=event.site, name="Gas")
    audit_new(unit, event.recorded_by)
    key = unit.pk
    unit.delete()
    unit.pk = key
    changes = [audit.change("unit closed", event.site, gone=[unit])]
    audit.record(changes, by=event.recorded_by, at=NOON)
    assert found() == []


@pytest.mark.parametrize("model", proof.audited_models(), ids=lambda model: model.__name__)
def test_every_table_reads_back_as_it_was_written(model):
    """As typed in the factory (texts, naive decimals) and as the database gives it again."""
    factory = {f._meta.model: f for f in vars(factories).values() if hasattr(f, "_meta")}[model]
    row = factory()
    audit.record([audit.change("added", row)], by=factories.UserFactory(), at=NOON)
    assert [line for line in found() if f" {row._meta.db_table} {row.pk}:" in line] == []


@pytest.mark.parametrize("hours", ["4", "4.5", "4.50", "0.10", "9999.99"])
def test_decimals_read_back_as_they_were_written(hours):
    row = factories.JobHoursFactory(hours=hours)
    audit.record([audit.change("added", row)], by=factories.UserFactory(), at=NOON)
    assert [line for line in found() if "jobhours" in line] == []
    assert f'"{Decimal(hours):.2f}"' in AuditEntry.objects.get().after


def test_many_entries_at_once_are_chained_and_proved_in_a_bounded_number_of_queries(site):
    by = User.objects.get()
    units = [Unit(site=site, name=f"Unit {n:04}") for n in range(2500)]
    plant.add_mentioned(units, by=by, at=NOON)
    with CaptureQueriesContext(connection) as queries:
        assert found() == []
    tables = [q for q in queries if q["sql"].startswith(("SELECT DISTINCT", 'SELECT "'))]
    assert len(tables) < 2 * len(proof.audited_models()) + 12  # one for the keys, one a thousand


def test_a_composed_and_a_decomposed_name_are_the_same_name(site):
    audit_new(Unit(site=site, name="Mu\u0308hle"), User.objects.get())
    assert found() == []


def test_due_dates_are_checked_by_replay(event, capsys):
    call_command("check_due_dates")
    assert "1 positions replayed, 0 differences" in capsys.readouterr().out
    locks.lift(connection)
    sql("UPDATE fleet_obligationspan SET due_on = '2031-01-01' WHERE due_on IS NOT NULL")
    locks.lay(connection)
    with pytest.raises(SystemExit):
        call_command("check_due_dates")
    said = capsys.readouterr().out
    assert "stored, replay does not give it: due 2031-01-01" in said
    assert "replayed, not stored: due 2025-01-01" in said


def test_a_line_whose_day_has_come_is_renewed(event, settings):
    """A rule that ends next month: from that day on its line is stale, and no difference."""
    settings.FIXED_TODAY = date(2024, 6, 1)
    row = Obligation.objects.get()
    obligations.end([(row, date(2024, 7, 1))], by=event.recorded_by, at=NOON)
    ledger.replay_positions([row.position_id], at=NOON)
    assert row.position.due_lines.get().state == "dated"
    settings.FIXED_TODAY = date(2024, 7, 1)
    call_command("check_due_dates")
    assert row.position.due_lines.get().state == "no_obligation"


def test_an_outage_saved_again_is_no_difference(site):
    by, unit = User.objects.get(), Unit.objects.get()
    outage = Outage(site=site, name="2027", starts_on=date(2027, 5, 1), ends_on=date(2027, 6, 1))
    outages.save_outages([(outage, [unit])], by=by, at=NOON)
    outage.bench_hours = Decimal("120")
    outages.save_outages([(outage, [unit])], by=by, at=NOON.astimezone(UTC))
    assert found() == []


def test_a_device_saved_by_nobody_is_named(event):
    Device.objects.create(number="D-secret", kind="spring")
    pk = Device.objects.get(number="D-secret").pk
    assert found() == [f"row: fleet_device {pk}: is there, but no entry names it"]
