"""Whatever is changed behind the product's back is found, and named, on both databases.

Each test makes an honest plant through the actions, lifts the locks as an attacker with the
database's own password could, changes something in raw SQL, and asks the proof.
"""

import pytest
from django.core.management import call_command
from django.db import connection

from fleet import audit, locks
from fleet.models import AuditEntry, AuditHead, Site, Unit
from tests.fleet.honest import audit_new, found, honest_event, honest_site, sql

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return honest_site()


@pytest.fixture
def event(site):
    return honest_event(site)


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
    columns, values = "name, review_overhauls, review_resets", "'nowhere', 5, 3"
    sql(f"INSERT INTO fleet_site ({columns}) VALUES ({values})")
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
