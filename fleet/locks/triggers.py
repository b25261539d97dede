"""How a lock is written on SQLite and on PostgreSQL.

On PostgreSQL the condition stands in the function rather than in a WHEN, so that what stands can
be read back and compared, word for word, with what should.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass


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


def bodies(locks: Iterable[Lock], vendor: str) -> dict[tuple[str, str], str]:
    """{(trigger, table): the text that its database keeps of it}."""
    if vendor == "sqlite":
        found = {(lock.name, lock.table): _sqlite_trigger(lock) for lock in locks}
        return found | {(name, INSTALLATIONS): text for name, text in sqlite_overlaps()}
    found = {}
    for lock in locks:
        found[lock.name, lock.table] = _postgres_body(lock)
        if lock.event == "DELETE":
            found[_cut(lock), lock.table] = CUT_BODY
    return found


def _cut(lock: Lock) -> str:
    """The trigger that refuses to empty the table at once."""
    return _short(f"cut_{lock.name}")


def _short(name: str) -> str:
    return name[:63]  # PostgreSQL cuts identifiers there


def statements(lock: Lock, vendor: str) -> Iterator[str]:
    if vendor == "sqlite":
        yield _sqlite_trigger(lock)
        return
    yield _postgres_function(lock.name, _postgres_body(lock))
    yield (
        f'CREATE TRIGGER "{lock.name}" BEFORE {lock.event} ON "{lock.table}" FOR EACH ROW '
        f'EXECUTE FUNCTION "{lock.name}"()'
    )
    if lock.event == "DELETE":
        yield _postgres_function("fleet_refuse_truncate", CUT_BODY)
        yield (
            f'CREATE TRIGGER "{_cut(lock)}" BEFORE TRUNCATE ON "{lock.table}" '
            "FOR EACH STATEMENT EXECUTE FUNCTION fleet_refuse_truncate()"
        )


def _condition(lock: Lock) -> str:
    """When it refuses, as SQL over OLD and NEW; empty = always."""
    if lock.parent is None:
        return lock.condition
    table, column, key = lock.parent
    rows = {"INSERT": ["NEW"], "DELETE": ["OLD"], "UPDATE": ["OLD", "NEW"]}[lock.event]
    ids = ", ".join(f'{row}."{key}"' for row in rows)
    return f'EXISTS (SELECT 1 FROM "{table}" WHERE id IN ({ids}) AND "{column}" IS NOT NULL)'


def _quoted(text: str) -> str:
    return text.replace("'", "''")


def _sqlite_trigger(lock: Lock) -> str:
    condition = _condition(lock)
    when = f"WHEN {condition} " if condition else ""
    return (
        f'CREATE TRIGGER "{lock.name}" BEFORE {lock.event} ON "{lock.table}" FOR EACH ROW {when}'
        f"BEGIN SELECT RAISE(ABORT, '{_quoted(lock.message)}'); END"
    )


def _refusal(message: str) -> str:
    words = _quoted(message.replace("%", "%%"))
    return f"RAISE EXCEPTION '{words}' USING ERRCODE = 'restrict_violation';"


CUT_BODY = f"BEGIN {_refusal('kept records are never emptied')} END"


def _postgres_body(lock: Lock) -> str:
    condition, refusal = _condition(lock), _refusal(lock.message)
    if condition:
        refusal = f"IF {condition} THEN {refusal} END IF;"
    return f"BEGIN {refusal} RETURN {'OLD' if lock.event == 'DELETE' else 'NEW'}; END"


def _postgres_function(name: str, body: str) -> str:
    return f'CREATE OR REPLACE FUNCTION "{name}"() RETURNS trigger AS $${body}$$ LANGUAGE plpgsql'


INSTALLATIONS = "fleet_installation"
OVERLAPS = {
    "position": "two_devices_never_share_a_position",
    "device": "one_device_is_in_one_place",
}


def sqlite_overlaps() -> Iterator[tuple[str, str]]:
    """(name, trigger) of each."""
    for noun, word in OVERLAPS.items():
        for event in ("INSERT", "UPDATE"):
            name = f"{word}_{event.lower()}"
            yield (
                name,
                f'CREATE TRIGGER "{name}" BEFORE {event} ON "{INSTALLATIONS}" FOR EACH ROW '
                f'WHEN EXISTS (SELECT 1 FROM "{INSTALLATIONS}" AS other '
                f"WHERE other.{noun}_id = NEW.{noun}_id AND other.id IS NOT NEW.id "
                "AND other.voided_at IS NULL AND NEW.voided_at IS NULL "
                "AND (NEW.removed_on IS NULL OR other.installed_on < NEW.removed_on) "
                "AND (other.removed_on IS NULL OR NEW.installed_on < other.removed_on)) "
                f"BEGIN SELECT RAISE(ABORT, '{word}'); END",
            )


ONLY_NOT_VOIDED = "WHERE ((voided_at IS NULL))"  # word for word as PostgreSQL says it back


def postgres_overlap(noun: str, name: str) -> Iterator[str]:
    yield f'ALTER TABLE "{INSTALLATIONS}" DROP CONSTRAINT IF EXISTS {name}'
    yield (
        f'ALTER TABLE "{INSTALLATIONS}" ADD CONSTRAINT {name} EXCLUDE USING gist '
        f"(int8range({noun}_id, {noun}_id, '[]') WITH &&, "
        f"daterange(installed_on, removed_on, '[)') WITH &&) {ONLY_NOT_VOIDED}"
    )
