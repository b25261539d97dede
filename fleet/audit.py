"""Writing and reading the proof: one gapless, hash-chained table.

Every transaction that writes begins with `writing()`, which takes the chain's head: writers come
one after another, on PostgreSQL as on SQLite, so that none decides or replays on what another is
just changing, and none waits for another in a circle. Readers never wait.

An entry's `after` names, table by table, the columns and the rows as they then were. `before` is
the aggregate's previous entry. It is a log and a proof, never asked for state.
"""

import hashlib
import json
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from decimal import Decimal
from functools import cache
from typing import Any

from django.db import connection, models, transaction

from fleet.models import AuditEntry, AuditHead, User

BATCH = 2000


@dataclass(frozen=True)
class Change:
    """One aggregate as it is after a change: its own row and its children's.

    gone: {table: primary keys} of rows this change took away.
    """

    action: str
    aggregate: str
    rows: Sequence[models.Model]
    gone: dict[str, list] = field(default_factory=dict)


def change(
    action: str, root: models.Model, *children: models.Model, gone: Iterable[models.Model] = ()
) -> Change:
    """A change of `root`, named after its table and primary key.

    gone: rows deleted with it, which must still know their primary keys.
    """
    taken: dict[str, list] = defaultdict(list)
    for row in gone:
        taken[row._meta.db_table].append(row.pk)
    return Change(action, f"{root._meta.model_name}:{root.pk}", (root, *children), dict(taken))


@contextmanager
def writing() -> Iterator[None]:
    """A transaction in which this writer is the only one. Also a decorator: `@writing()`."""
    with transaction.atomic():
        _locked_head()
        yield


@contextmanager
def reading() -> Iterator[None]:
    """Everything is read as of one moment, while others go on writing. Nothing may be written."""
    if connection.in_atomic_block:  # of that transaction's moment, then
        yield
    elif connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("BEGIN")  # deferred: takes a snapshot and locks nobody out
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")
    else:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield


def record(changes: Iterable[Change], *, by: User, at: datetime) -> int:
    """Append one entry a change, in this transaction. Returns how many."""
    with transaction.atomic():
        head = _locked_head()
        count, batch = 0, []
        for item in changes:
            entry = _entry(head, item, by, at)
            head.number, head.digest = entry.number, entry.digest
            batch.append(entry)
            count += 1
            if len(batch) == BATCH:
                AuditEntry.objects.bulk_create(batch)
                batch = []
        AuditEntry.objects.bulk_create(batch)
        head.save()
    return count


def _locked_head() -> AuditHead:
    head = AuditHead.objects.select_for_update().first()
    if head is None:
        AuditHead.objects.get_or_create(pk=1)
        head = AuditHead.objects.select_for_update().get(pk=1)
    return head


def _entry(head: AuditHead, item: Change, by: User, at: datetime) -> AuditEntry:
    entry = AuditEntry(
        number=head.number + 1,
        previous=head.digest,
        at=at,
        by=by,
        action=item.action,
        aggregate=item.aggregate,
        after=canonical(_after(item)),
    )
    entry.digest = digest(entry)
    return entry


def _after(item: Change) -> dict[str, dict[str, list]]:
    after = snapshot(item.rows)
    for table, keys in item.gone.items():
        after.setdefault(table, {"columns": [], "rows": []})["gone"] = keys
    return after


def digest(entry: AuditEntry) -> str:
    """SHA-256 over every other field, one to a line."""
    fields = (
        str(entry.number),
        entry.previous,
        plain(entry.at),
        str(entry.by_id),
        entry.action,
        entry.aggregate,
        entry.after,
    )
    return hashlib.sha256("\n".join(fields).encode()).hexdigest()


def canonical(value: Any) -> str:
    """JSON with sorted keys, no spaces, NFC."""
    text = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return unicodedata.normalize("NFC", text)


def snapshot(rows: Iterable[models.Model]) -> dict[str, dict[str, list]]:
    """{table: {"columns": [...], "rows": [[...], ...]}}, values plain and exact."""
    tables: dict[str, list[list]] = defaultdict(list)
    columns: dict[str, list[str]] = {}
    for row in rows:
        table = row._meta.db_table
        fields = audited_fields(type(row))
        columns[table] = [field.attname for field in fields]
        tables[table].append([plain_value(field, row) for field in fields])
    return {table: {"columns": columns[table], "rows": tables[table]} for table in tables}


@cache
def audited_fields(model: type[models.Model]) -> tuple[models.Field, ...]:
    left_out = getattr(model, "audit_leaves_out", ())
    return tuple(f for f in model._meta.concrete_fields if f.name not in left_out)


def plain_value(field: models.Field, row: models.Model) -> Any:
    """What the column will read as, also where the row still holds it as somebody typed it."""
    value = field.to_python(getattr(row, field.attname))
    if isinstance(field, models.DecimalField) and value is not None:
        return str(Decimal(value).quantize(Decimal(1).scaleb(-field.decimal_places)))
    return plain(value)


def plain(value: Any) -> Any:
    """Dates as ISO 8601, decimals and quantities as text; the rest as it is."""
    if value is None or isinstance(value, (bool, int, dict, list)):
        return value
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if hasattr(value, "isoformat"):
        return value.isoformat()
    return str(value)


def parsed(entry: AuditEntry) -> dict[str, dict[str, list]]:
    """An entry's `after`, read back."""
    return json.loads(entry.after)
