"""The database refuses to rewrite history.

What a model declares is what is laid: `keeping` says how the table is kept; `closes` names the
columns of a dated fact that may be filled once; `locked_by` names the column that locks a record;
`locked_with` names the parent that locks its children. Triggers hold it on SQLite and PostgreSQL.

SQLite loses triggers when a migration rebuilds a table: every migration that touches a kept table
ends with `lay_locks`.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.apps import apps

from fleet.models.base import Keeping

SAME = {"sqlite": "IS", "postgresql": "IS NOT DISTINCT FROM"}


@dataclass(frozen=True)
class Lock:
    """One trigger: when `event` on `table` meets `condition`, it is refused with `message`.

    parent: for children of a locked record, (parent table, lock column, foreign key column).
    """

    name: str
    table: str
    event: str
    message: str
    condition: str = ""
    parent: tuple[str, str, str] | None = None


def kept_models() -> list[type]:
    return [model for model in apps.get_models() if hasattr(model, "keeping")]


def locks(connection) -> list[Lock]:
    """Every lock that should stand, for the tables that exist."""
    with connection.cursor() as cursor:
        tables = set(connection.introspection.table_names(cursor))
        found: list[Lock] = []
        for model in kept_models():
            table = model._meta.db_table
            if table in tables:
                columns = [
                    column.name
                    for column in connection.introspection.get_table_description(cursor, table)
                ]
                found += _locks_of(model, table, columns, SAME[connection.vendor])
    return found


def _locks_of(model, table: str, columns: list[str], same: str) -> Iterator[Lock]:
    if model.keeping is Keeping.DATED_FACT:
        yield Lock(
            f"{table}_is_never_deleted", table, "DELETE", f"{table} is a dated fact: never deleted"
        )
        yield Lock(
            f"{table}_is_never_rewritten",
            table,
            "UPDATE",
            f"{table} is a dated fact: never rewritten",
            _unless_closing(model, columns, same),
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


def _unless_closing(model, columns: list[str], same: str) -> str:
    closes = getattr(model, "closes", ())
    if not closes:
        return ""
    rest = [f'NEW."{name}" {same} OLD."{name}"' for name in columns if name not in closes]
    first = f'OLD."{closes[0]}" IS NULL AND NEW."{closes[0]}" IS NOT NULL'
    return f"NOT ({' AND '.join([first, *rest])})"


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
            for statement in _statements(lock, connection.vendor):
                cursor.execute(statement)
        for statement in _overlap(connection, cursor):
            cursor.execute(statement)


def lift(connection) -> None:
    """Take the locks off. Only tests and `lay` do this; the product ships no way around them."""
    with connection.cursor() as cursor:
        for name, table in standing(connection):
            on = f' ON "{table}"' if connection.vendor == "postgresql" else ""
            cursor.execute(f'DROP TRIGGER IF EXISTS "{name}"{on}')


def standing(connection) -> set[tuple[str, str]]:
    """(trigger, table) of every lock that stands now."""
    query = {
        "sqlite": "SELECT name, tbl_name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT t.tgname, c.relname FROM pg_trigger t JOIN pg_class c "
        "ON c.oid = t.tgrelid WHERE NOT t.tgisinternal",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(query)
        return {(name, table) for name, table in cursor.fetchall()}


def missing(connection) -> list[str]:
    """Names of locks that should stand and do not."""
    names = {name for name, _ in standing(connection)}
    wanted = [_short(lock.name) for lock in locks(connection)]
    if connection.vendor == "postgresql":
        names |= _constraints(connection)
        wanted += [_cut(lock) for lock in locks(connection) if lock.event == "DELETE"]
        wanted += OVERLAPS.values()
    else:
        wanted += [
            f"{name}_{event}" for name in OVERLAPS.values() for event in ("insert", "update")
        ]
    return sorted(name for name in wanted if name not in names)


def _constraints(connection) -> set[str]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT conname FROM pg_constraint WHERE contype = 'x'")
        return {name for (name,) in cursor.fetchall()}


def _cut(lock: Lock) -> str:
    """The trigger that refuses to empty the table at once."""
    return _short(f"cut_{_short(lock.name)}")


def _short(name: str) -> str:
    return name[:63]  # PostgreSQL cuts identifiers there


def _statements(lock: Lock, vendor: str) -> Iterable[str]:
    name, message = _short(lock.name), lock.message.replace("'", "''")
    if vendor == "sqlite":
        when = _sqlite_when(lock)
        yield (
            f'CREATE TRIGGER "{name}" BEFORE {lock.event} ON "{lock.table}" FOR EACH ROW {when} '
            f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
        )
        return
    yield _postgres_function(name, lock, message)
    when = f"WHEN ({lock.condition}) " if lock.condition else ""
    yield (
        f'CREATE TRIGGER "{name}" BEFORE {lock.event} ON "{lock.table}" FOR EACH ROW {when}'
        f'EXECUTE FUNCTION "{name}"()'
    )
    if lock.event == "DELETE":
        yield (
            f'CREATE OR REPLACE TRIGGER "{_cut(lock)}" BEFORE TRUNCATE '
            f'ON "{lock.table}" FOR EACH STATEMENT EXECUTE FUNCTION fleet_refuse_truncate()'
        )


def _sqlite_when(lock: Lock) -> str:
    if lock.parent is None:
        return f"WHEN {lock.condition}" if lock.condition else ""
    table, column, key = lock.parent
    rows = {"INSERT": ["NEW"], "DELETE": ["OLD"], "UPDATE": ["OLD", "NEW"]}[lock.event]
    ids = ", ".join(f'{row}."{key}"' for row in rows)
    return f'WHEN EXISTS (SELECT 1 FROM "{table}" WHERE id IN ({ids}) AND "{column}" IS NOT NULL)'


def _postgres_function(name: str, lock: Lock, message: str) -> str:
    body = f"RAISE EXCEPTION '{message.replace('%', '%%')}' USING ERRCODE = 'restrict_violation';"
    if lock.parent is not None:
        table, column, key = lock.parent
        rows = {"INSERT": ["NEW"], "DELETE": ["OLD"], "UPDATE": ["OLD", "NEW"]}[lock.event]
        ids = ", ".join(f'{row}."{key}"' for row in rows)
        body = (
            f'IF EXISTS (SELECT 1 FROM "{table}" WHERE id IN ({ids}) '
            f'AND "{column}" IS NOT NULL) THEN {body} END IF;'
        )
    refuse_truncate = (
        "CREATE OR REPLACE FUNCTION fleet_refuse_truncate() RETURNS trigger AS $$ BEGIN "
        "RAISE EXCEPTION 'kept records are never emptied' USING ERRCODE = 'restrict_violation'; "
        "END $$ LANGUAGE plpgsql;"
    )
    back = "OLD" if lock.event == "DELETE" else "NEW"
    return (
        f'{refuse_truncate} CREATE OR REPLACE FUNCTION "{name}"() RETURNS trigger AS $$ BEGIN '
        f"{body} RETURN {back}; END $$ LANGUAGE plpgsql;"
    )


OVERLAPS = {
    "position": "two_devices_never_share_a_position",
    "device": "one_device_is_in_one_place",
}


def _overlap(connection, cursor) -> Iterator[str]:
    """Spells of one position, or of one device, never overlap."""
    table = "fleet_installation"
    if table not in connection.introspection.table_names(cursor):
        return
    for noun, name in OVERLAPS.items():
        if connection.vendor == "sqlite":
            yield from _sqlite_overlap(table, noun, name)
            continue
        cursor.execute("SELECT 1 FROM pg_constraint WHERE conname = %s", [name])
        if cursor.fetchone() is None:
            yield (
                f'ALTER TABLE "{table}" ADD CONSTRAINT {name} EXCLUDE USING gist '
                f"(int8range({noun}_id, {noun}_id, '[]') WITH &&, "
                "daterange(installed_on, removed_on, '[)') WITH &&)"
            )


def _sqlite_overlap(table: str, noun: str, name: str) -> Iterator[str]:
    for event in ("INSERT", "UPDATE"):
        yield (
            f'CREATE TRIGGER "{name}_{event.lower()}" BEFORE {event} ON "{table}" FOR EACH ROW '
            f'WHEN EXISTS (SELECT 1 FROM "{table}" AS other '
            f"WHERE other.{noun}_id = NEW.{noun}_id AND other.id IS NOT NEW.id "
            "AND (NEW.removed_on IS NULL OR other.installed_on < NEW.removed_on) "
            "AND (other.removed_on IS NULL OR NEW.installed_on < other.removed_on)) "
            f"BEGIN SELECT RAISE(ABORT, '{name}'); END"
        )


def lay_locks(apps, schema_editor) -> None:
    """For migrations.RunPython, last in every migration that touches a kept table."""
    lay(schema_editor.connection)
