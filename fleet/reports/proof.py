"""Is the audit chain whole, and do the tables say what it says? Every difference is named."""

from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import blake2b

from django.db import connection, models

from fleet import audit, locks
from fleet.models import AuditEntry, AuditHead

START = "0" * 64


@dataclass(frozen=True)
class Difference:
    """One thing that is not as the chain says: what, where, and in words."""

    kind: str
    where: str
    words: str

    def __str__(self) -> str:
        return f"{self.kind}: {self.where}: {self.words}"


class Latest:
    """The last state the chain names for each row: a fingerprint, and the entry to read it in."""

    def __init__(self) -> None:
        self.rows: dict[tuple[str, object], tuple[bytes, int]] = {}

    def take(self, entry: AuditEntry, tables: dict) -> None:
        for table, content in tables.items():
            place = content["columns"].index("id") if "id" in content["columns"] else 0
            for row in content["rows"]:
                state = _fingerprint(content["columns"], row)
                self.rows[table, row[place]] = (state, entry.number)
            for key in content.get("gone", ()):
                self.rows.pop((table, key), None)


def _fingerprint(columns: list[str], row: list) -> bytes:
    text = audit.canonical([columns, row])
    return blake2b(text.encode(), digest_size=16).digest()


def differences() -> Iterator[Difference]:
    """Chain first, then locks, then every audited table against the chain's last word on it."""
    latest = Latest()
    yield from _chain(latest)
    for name in locks.missing(connection):
        yield Difference("lock", name, "the trigger is not there")
    for model in audited_models():
        yield from _table(model, latest)
    for (table, pk), (_, number) in latest.rows.items():
        yield Difference("row", f"{table} {pk}", f"gone, though entry {number} names it")


def audited_models() -> list[type[models.Model]]:
    return [model for model in locks.kept_models() if getattr(model, "is_audited", True)]


def _chain(latest: Latest) -> Iterator[Difference]:
    number, previous = 0, START
    for entry in AuditEntry.objects.order_by("number").iterator(chunk_size=2000):
        if entry.number != number + 1:
            words = f"entries {number + 1} to {entry.number - 1} are missing"
            yield Difference("chain", str(entry.number), words)
        elif entry.previous != previous:
            yield Difference("chain", str(entry.number), "does not follow from the entry before it")
        if audit.digest(entry) != entry.digest:
            yield Difference("chain", str(entry.number), "was changed after it was written")
        number, previous = entry.number, entry.digest
        try:
            latest.take(entry, audit.parsed(entry))
        except (ValueError, KeyError, TypeError):
            yield Difference("chain", str(entry.number), "cannot be read")
    head = AuditHead.objects.first() or AuditHead()
    if (head.number, head.digest) != (number, previous):
        words = f"the head stands at {head.number}, the last entry is {number}"
        yield Difference("chain", "head", words)


def _table(model: type[models.Model], latest: Latest) -> Iterator[Difference]:
    """Compare every row with the chain; rows found are taken out of `latest`."""
    fields = audit.audited_fields(model)
    columns, table = [field.attname for field in fields], model._meta.db_table
    for row in model._default_manager.order_by("pk").iterator(chunk_size=2000):
        values = [audit.plain_value(field, row) for field in fields]
        known = latest.rows.pop((table, audit.plain(row.pk)), None)
        if known is None:
            yield Difference("row", f"{table} {row.pk}", "is there, but no entry names it")
        elif known[0] != _fingerprint(columns, values):
            yield from _named(table, row.pk, known[1], dict(zip(columns, values, strict=True)))


def _named(table: str, pk: object, number: int, now: dict) -> Iterator[Difference]:
    """The fields in which a row differs from the entry that last named it."""
    content = audit.parsed(AuditEntry.objects.get(number=number))[table]
    rows = [dict(zip(content["columns"], row, strict=True)) for row in content["rows"]]
    then = next(row for row in rows if row.get("id") == audit.plain(pk))
    for column, value in then.items():
        if column in now and audit.canonical(now[column]) != audit.canonical(value):
            words = f"{column} is {now[column]!r}, entry {number} says {value!r}"
            yield Difference("field", f"{table} {pk}", words)
