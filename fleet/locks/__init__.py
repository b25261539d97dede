"""The database refuses to rewrite history.

What a model declares is what is laid: `keeping` says how the table is kept; `closes` names groups
of columns of a dated fact, each of which may be filled once, and none once a later one is filled;
`locked_by` names the column that locks a record; `locked_with` names the parent that locks its
children. Triggers hold it on SQLite and PostgreSQL.

A migration that touches a kept table begins with `lift_locks` and ends with `lay_locks`: SQLite
rebuilds the table, which loses its triggers and cannot be done under those of its children.
"""

from collections.abc import Iterator, Sequence

from django.apps import apps

from fleet.locks import triggers
from fleet.locks.triggers import OVERLAPS, Lock
from fleet.models.base import Keeping

SAME = {"sqlite": "IS", "postgresql": "IS NOT DISTINCT FROM"}


def kept_models() -> list[type]:
    return [model for model in apps.get_models() if hasattr(model, "keeping")]


def locks(connection) -> list[Lock]:
    """Every lock that should stand, for the tables that exist."""
    tables = set(connection.introspection.table_names())
    models = [model for model in kept_models() if model._meta.db_table in tables]
    return [lock for model in models for lock in _locks_of(model, connection)]


def _locks_of(model, connection) -> Iterator[Lock]:
    table = model._meta.db_table
    if model.keeping is Keeping.DATED_FACT:
        yield Lock(
            f"{table}_is_never_deleted", table, "DELETE", f"{table} is a dated fact: never deleted"
        )
        yield Lock(
            f"{table}_is_never_rewritten",
            table,
            "UPDATE",
            f"{table} is a dated fact: never rewritten",
            _unless_closing(model, connection),
        )
    elif model.keeping is Keeping.LOCKED and hasattr(model, "locked_by"):
        for event in ("UPDATE", "DELETE"):
            yield Lock(
                f"{table}_{event.lower()}_when_locked",
                table,
                event,
                f"{table}: this record is locked; correct it with a new one",
                f'OLD."{model.locked_by}" IS NOT NULL',
            )
    elif model.keeping is Keeping.LOCKED:
        yield from _locks_of_child(model, table)


def _unless_closing(model, connection) -> str:
    """Refused unless exactly one group is filled: its first column was empty, and is no longer."""
    groups = getattr(model, "closes", ())
    if not groups:
        return ""
    columns = _columns(connection, model._meta.db_table)
    groups = [group for group in groups if group[0] in columns]
    ways = [
        _filling(group, groups[place + 1 :], columns, SAME[connection.vendor])
        for place, group in enumerate(groups)
    ]
    return f"NOT ({' OR '.join(f'({way})' for way in ways)})"


def _filling(group, later, columns: Sequence[str], same: str) -> str:
    filled = [f'NEW."{group[0]}" IS NOT NULL']
    empty = [f'OLD."{name}" IS NULL' for name in (group[0], *(other[0] for other in later))]
    rest = [f'NEW."{name}" {same} OLD."{name}"' for name in columns if name not in group]
    return " AND ".join([*empty, *filled, *rest])


def _columns(connection, table: str) -> list[str]:
    """The columns the table has now, also in a migration's midst."""
    with connection.cursor() as cursor:
        found = connection.introspection.get_table_description(cursor, table)
    return [column.name for column in found]


def _locks_of_child(model, table: str) -> Iterator[Lock]:
    key = model._meta.get_field(model.locked_with)
    parent = key.related_model
    for event in ("INSERT", "UPDATE", "DELETE"):
        yield Lock(
            f"{table}_{event.lower()}_with_locked",
            table,
            event,
            f"{table}: its record is locked; correct it with a new one",
            parent=(parent._meta.db_table, parent.locked_by, key.column),
        )


def lay(connection) -> None:
    """Lay every lock again. Safe to repeat."""
    lift(connection)
    with connection.cursor() as cursor:
        for lock in locks(connection):
            for statement in triggers.statements(lock, connection.vendor):
                cursor.execute(statement)
        for statement in _overlap(connection, cursor):
            cursor.execute(statement)


def lift(connection) -> None:
    """Take the locks off. Only tests and `lay` do this; the product ships no way around them."""
    ours = {model._meta.db_table for model in kept_models()}
    with connection.cursor() as cursor:
        for name, table in standing(connection):
            if table in ours:
                on = f' ON "{table}"' if connection.vendor == "postgresql" else ""
                cursor.execute(f'DROP TRIGGER IF EXISTS "{name}"{on}')


# What stands: trigger, table, and what it does. A trigger that is switched off does nothing.
STANDING = {
    "sqlite": "SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": "SELECT t.tgname, c.relname, CASE WHEN t.tgenabled IN ('O', 'A') "
    "AND t.tgqual IS NULL THEN p.prosrc ELSE '' END FROM pg_trigger t "
    "JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid "
    "WHERE NOT t.tgisinternal AND pg_table_is_visible(c.oid)",
}


def _standing(connection) -> list[tuple[str, str, str]]:
    with connection.cursor() as cursor:
        cursor.execute(STANDING[connection.vendor])
        return cursor.fetchall()


def standing(connection) -> set[tuple[str, str]]:
    """(trigger, table) of every trigger that stands now."""
    return {(name, table) for name, table, _ in _standing(connection)}


def missing(connection) -> list[str]:
    """Names of locks that should stand and do not, or do not do what they should."""
    found = {(name, table): body for name, table, body in _standing(connection)}
    wanted = triggers.bodies(locks(connection), connection.vendor)
    lost = [key[0] for key, body in wanted.items() if found.get(key) != body]
    if connection.vendor == "postgresql":
        lost += [name for name in OVERLAPS.values() if not _constrained(connection, name)]
    return sorted(lost)


def _constrained(connection, name: str) -> bool:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_get_constraintdef(oid) FROM pg_constraint "
            "WHERE contype = 'x' AND convalidated AND conname = %s",
            [name],
        )
        found = cursor.fetchone()
    return found is not None and found[0].endswith(triggers.ONLY_NOT_VOIDED)


def _overlap(connection, cursor) -> Iterator[str]:
    """Spells of one position, or of one device, never overlap; those taken back do not count."""
    table = triggers.INSTALLATIONS
    if table not in connection.introspection.table_names(cursor):
        return
    if "voided_at" not in _columns(connection, table):  # laid by the migration that adds it
        return
    if connection.vendor == "sqlite":
        yield from (text for _, text in triggers.sqlite_overlaps())
        return
    for noun, name in OVERLAPS.items():
        if not _constrained(connection, name):
            yield from triggers.postgres_overlap(noun, name)


def lift_locks(apps, schema_editor) -> None:
    """For migrations.RunPython, first in every migration that touches a kept table."""
    lift(schema_editor.connection)


def lay_locks(apps, schema_editor) -> None:
    """For migrations.RunPython, last in every migration that touches a kept table."""
    lay(schema_editor.connection)
