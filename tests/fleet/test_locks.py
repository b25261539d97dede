"""What the database itself refuses, whoever asks: on SQLite and on PostgreSQL."""

from datetime import UTC, date, datetime

import pytest
from django.db import DatabaseError, connection, transaction

from fleet import locks
from fleet.models import AuditEntry, Installation, IntervalRule, ServiceEvent
from inspections.models import Finding, Inspection, SettingReading
from tests import factories

pytestmark = pytest.mark.django_db
NOON = datetime(2024, 5, 1, 12, tzinfo=UTC)


def refused(statement, *parameters):
    """The database refuses a raw statement, and nothing was done."""
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement, parameters)


def refused_write(write, *arguments, **values):
    with pytest.raises(DatabaseError), transaction.atomic():
        write(*arguments, **values)


@pytest.fixture
def locked():
    """An inspection with a reading and a finding, locked by its verification."""
    record = factories.InspectionFactory()
    factories.SettingReadingFactory(inspection=record)
    factories.FindingFactory(inspection=record)
    Inspection.objects.filter(pk=record.pk).update(
        locked_at=NOON, verified_by=factories.UserFactory()
    )
    return record


@pytest.mark.parametrize(
    ("factory", "column"),
    [
        (factories.AuditEntryFactory, "action"),
        (factories.ServiceEventFactory, "ref"),
        (factories.IntervalRuleFactory, "citation"),
        (factories.IntervalDecisionFactory, "reason"),
        (factories.DeferralFactory, "reason"),
        (factories.PositionDutyFactory, "tag"),
    ],
)
def test_a_dated_fact_is_never_rewritten_nor_deleted(factory, column):
    row = factory()
    table, key = row._meta.db_table, row._meta.pk.column
    refused(f"UPDATE {table} SET {column} = 'x' WHERE {key} = %s", row.pk)
    refused(f"DELETE FROM {table} WHERE {key} = %s", row.pk)
    row.refresh_from_db()
    assert getattr(row, column) != "x"


def test_replacing_a_row_is_deleting_it():
    if connection.vendor != "sqlite":
        pytest.skip("REPLACE is SQLite's own")
    row = factories.IntervalRuleFactory()
    columns = ", ".join(f.column for f in IntervalRule._meta.concrete_fields)
    refused(
        f"REPLACE INTO {IntervalRule._meta.db_table} ({columns}) "
        f"SELECT {columns} FROM {IntervalRule._meta.db_table} WHERE id = %s",
        row.pk,
    )


def test_a_kept_table_is_never_emptied_at_once():
    factories.AuditEntryFactory()
    cut = "TRUNCATE {} CASCADE" if connection.vendor == "postgresql" else "DELETE FROM {}"
    refused(cut.format(AuditEntry._meta.db_table))
    assert AuditEntry.objects.count() == 1


def test_an_installation_is_closed_once_and_otherwise_never_touched():
    spell = factories.InstallationFactory(installed_on=date(2020, 1, 1))
    mine = Installation.objects.filter(pk=spell.pk)
    refused_write(mine.update, installed_on=date(2019, 1, 1))
    refused_write(mine.update, removed_on=date(2024, 5, 1), installed_on=date(2019, 1, 1))
    mine.update(removed_on=date(2024, 5, 1), closed_at=NOON)
    refused_write(mine.update, removed_on=date(2024, 6, 1))
    refused_write(mine.update, removed_on=None)
    spell.refresh_from_db()
    assert (spell.installed_on, spell.removed_on) == (date(2020, 1, 1), date(2024, 5, 1))


@pytest.mark.parametrize("shared", ["position", "device"])
@pytest.mark.parametrize(
    ("first", "second", "overlap"),
    [
        ((date(2020, 1, 1), None), (date(2021, 1, 1), None), True),
        ((date(2020, 1, 1), None), (date(2019, 1, 1), date(2020, 1, 2)), True),
        ((date(2020, 1, 1), date(2022, 1, 1)), (date(2020, 6, 1), date(2021, 1, 1)), True),
        ((date(2020, 1, 1), date(2022, 1, 1)), (date(2022, 1, 1), None), False),  # same day
        ((date(2020, 1, 1), None), (date(2019, 1, 1), date(2020, 1, 1)), False),
    ],
)
def test_spells_that_overlap_are_refused(shared, first, second, overlap):
    spell = factories.InstallationFactory(installed_on=first[0], removed_on=first[1])
    other = {shared: getattr(spell, shared), "installed_on": second[0], "removed_on": second[1]}
    if overlap:
        refused_write(factories.InstallationFactory, **other)
    else:
        assert factories.InstallationFactory(**other).pk


def test_closing_a_spell_later_may_not_make_it_overlap():
    spell = factories.InstallationFactory(
        installed_on=date(2020, 1, 1), removed_on=date(2021, 1, 1)
    )
    factories.InstallationFactory(position=spell.position, installed_on=date(2021, 1, 1))
    refused_write(Installation.objects.filter(pk=spell.pk).update, removed_on=date(2022, 1, 1))


def test_an_open_inspection_may_still_be_written():
    record = factories.InspectionFactory()
    reading = factories.SettingReadingFactory(inspection=record)
    SettingReading.objects.filter(pk=reading.pk).update(note="read twice")
    Inspection.objects.filter(pk=record.pk).update(remarks="rusty", version=2)
    reading.delete()


def test_a_locked_inspection_is_never_rewritten(locked):
    mine = Inspection.objects.filter(pk=locked.pk)
    refused_write(mine.update, remarks="x")
    refused_write(mine.update, locked_at=None)
    refused_write(mine._raw_delete, "default")


def test_nothing_is_added_to_taken_from_or_changed_in_a_locked_inspection(locked):
    readings = SettingReading.objects.filter(inspection=locked)
    refused_write(readings.update, value="-8 notches")
    refused_write(readings._raw_delete, "default")
    refused_write(Finding.objects.filter(inspection=locked)._raw_delete, "default")
    refused_write(factories.FindingFactory, inspection=locked, part="nozzle")
    refused_write(factories.PopTestFactory, inspection=locked)


def test_a_reading_is_not_moved_into_or_out_of_a_locked_inspection(locked):
    loose = factories.SettingReadingFactory(setting="upper_ring")
    refused_write(SettingReading.objects.filter(pk=loose.pk).update, inspection=locked)
    held = SettingReading.objects.filter(inspection=locked)
    refused_write(held.update, inspection=loose.inspection)


def test_a_lost_lock_is_named():
    table = ServiceEvent._meta.db_table
    name = next(n for n, t in locks.standing(connection) if t == table and "deleted" in n)
    on = f" ON {table}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER {name}{on}")
    assert any(table in missing for missing in locks.missing(connection))
    locks.lay(connection)
    assert locks.missing(connection) == []


@pytest.mark.parametrize("noun", ["position", "device"])
def test_a_lost_overlap_lock_is_named(noun):
    name = locks.OVERLAPS[noun]
    drop = f"DROP TRIGGER {name}_insert"
    if connection.vendor == "postgresql":
        drop = f"ALTER TABLE fleet_installation DROP CONSTRAINT {name}"
    with connection.cursor() as cursor:
        cursor.execute(drop)
    assert any(name in missing for missing in locks.missing(connection))
