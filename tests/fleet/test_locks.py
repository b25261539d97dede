"""What the database itself refuses, whoever asks: on SQLite and on PostgreSQL."""

from datetime import UTC, date, datetime

import pytest
from django.db import DatabaseError, connection, models, transaction

from fleet import locks
from fleet.models import AuditEntry, Installation, IntervalRule, ServiceEvent
from fleet.models.base import Keeping
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


FACTORIES = {f._meta.model: f for f in vars(factories).values() if hasattr(f, "_meta")}
KEPT = [model for model in locks.kept_models() if model.keeping is Keeping.DATED_FACT]


@pytest.mark.parametrize("model", KEPT, ids=lambda model: model.__name__)
def test_a_dated_fact_is_never_rewritten_nor_deleted(model):
    row = FACTORIES[model]()
    before = model.objects.filter(pk=row.pk).values().get()
    table, key = model._meta.db_table, model._meta.pk.column
    once = {name for group in getattr(model, "closes", ()) for name in group}
    for field in model._meta.concrete_fields:
        if field.column not in once:
            other = other_value(field, row)
            refused(f'UPDATE {table} SET "{field.column}" = %s WHERE {key} = %s', other, row.pk)
    refused(f"DELETE FROM {table} WHERE {key} = %s", row.pk)
    assert model.objects.filter(pk=row.pk).values().get() == before


def other_value(field, row):
    """A value the column could hold, and does not."""
    kind = field.target_field if field.is_relation else field
    if isinstance(kind, models.DateTimeField):
        return NOON
    if isinstance(kind, models.DateField):
        return date(1990, 1, 1)
    if isinstance(kind, models.BooleanField):
        return not getattr(row, field.attname)
    if isinstance(kind, models.DecimalField | models.IntegerField):
        return 12345
    return '{"x": 1}' if isinstance(kind, models.JSONField) else "x"


@pytest.mark.parametrize("words", ["UPDATE OR IGNORE", "UPDATE OR REPLACE"])
def test_no_manner_of_conflict_gets_past_a_lock(words):
    if connection.vendor != "sqlite":
        pytest.skip("OR IGNORE is SQLite's own")
    row = factories.ServiceEventFactory()
    refused(f"{words} fleet_serviceevent SET ref = 'x' WHERE id = %s", row.pk)


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


LOCKED = [model for model in locks.kept_models() if model.keeping is not Keeping.MUTABLE]


@pytest.mark.parametrize("model", LOCKED, ids=lambda model: model.__name__)
def test_a_kept_table_is_never_emptied_at_once(model):
    if connection.vendor != "postgresql":
        pytest.skip("SQLite empties a table row by row")
    refused(f"TRUNCATE {model._meta.db_table} CASCADE")


def test_emptying_the_chain_is_refused():
    factories.AuditEntryFactory()
    refused("DELETE FROM fleet_auditentry")
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


VOIDED = {"voided_at": NOON, "void_reason": "another device went in"}


@pytest.mark.parametrize("ended", [None, date(2024, 5, 1)])
def test_an_installation_is_voided_once_and_then_never_touched(ended):
    spell = factories.InstallationFactory(installed_on=date(2020, 1, 1), removed_on=ended)
    mine, by = Installation.everything.filter(pk=spell.pk), factories.UserFactory()
    refused_write(mine.update, **VOIDED, voided_by=by, installed_on=date(2019, 1, 1))
    refused_write(mine.update, **VOIDED, voided_by=by, removed_on=date(2024, 6, 1))
    mine.update(**VOIDED, voided_by=by)
    before = mine.values().get()
    refused_write(mine.update, void_reason="no, the right one did")
    refused_write(mine.update, voided_at=None, voided_by=None, void_reason="")
    refused_write(mine.update, removed_on=date(2024, 6, 1), closed_at=NOON)
    refused_write(mine.update, removed_on=None)
    refused_write(mine._raw_delete, "default")
    assert mine.values().get() == before


@pytest.mark.parametrize("missing", ["voided_at", "voided_by", "void_reason"])
def test_whoever_takes_a_fitting_back_says_why(missing):
    mine = Installation.objects.filter(pk=factories.InstallationFactory().pk)
    given = VOIDED | {"voided_by": factories.UserFactory()}
    del given[missing]
    refused_write(mine.update, **given)


@pytest.mark.parametrize("shared", ["position", "device"])
def test_a_voided_spell_frees_its_days_and_no_others(shared):
    voided = VOIDED | {"voided_by": factories.UserFactory()}
    spell = factories.InstallationFactory(installed_on=date(2020, 1, 1), **voided)
    other = {shared: getattr(spell, shared), "installed_on": date(2021, 1, 1)}
    assert factories.InstallationFactory(**other).pk
    assert factories.InstallationFactory(**other, **voided).pk  # on record, counting for nothing
    refused_write(factories.InstallationFactory, **other | {"installed_on": date(2020, 6, 1)})


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


def test_a_lock_that_no_longer_does_what_it_should_is_named():
    name = "fleet_serviceevent_is_never_rewritten"
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                f'CREATE OR REPLACE FUNCTION "{name}"() RETURNS trigger AS '
                "$$BEGIN RETURN NEW; END$$ LANGUAGE plpgsql"
            )
        else:
            cursor.execute(f"DROP TRIGGER {name}")
            cursor.execute(
                f"CREATE TRIGGER {name} BEFORE UPDATE ON fleet_serviceevent BEGIN SELECT 1; END"
            )
    assert locks.missing(connection) == [name]


def test_a_lock_that_is_switched_off_is_named():
    if connection.vendor != "postgresql":
        pytest.skip("SQLite cannot switch a trigger off")
    name = "fleet_serviceevent_is_never_rewritten"
    with connection.cursor() as cursor:
        cursor.execute(f'ALTER TABLE fleet_serviceevent DISABLE TRIGGER "{name}"')
    assert locks.missing(connection) == [name]


def test_a_trigger_of_somebody_else_is_left_alone():
    if connection.vendor != "sqlite":
        pytest.skip("the same code, told here once")
    with connection.cursor() as cursor:
        cursor.execute("CREATE TABLE theirs (x)")
        cursor.execute("CREATE TRIGGER own BEFORE UPDATE ON theirs BEGIN SELECT 1; END")
    locks.lay(connection)
    assert ("own", "theirs") in locks.standing(connection)


@pytest.mark.django_db(transaction=True)
def test_a_migration_lifts_the_locks_and_lays_them_again():
    """SQLite makes the table anew, which it refuses to do under its children's locks."""
    old = Inspection._meta.get_field("shop")
    wider = models.CharField(max_length=old.max_length + 20, blank=True)
    wider.set_attributes_from_name("shop")
    for before, after in ((old, wider), (wider, old)):
        with connection.schema_editor() as editor:
            locks.lift_locks(None, editor)
            editor.alter_field(Inspection, before, after)
            locks.lay_locks(None, editor)
        assert locks.missing(connection) == []
