"""Is the audit chain whole, and do the tables say what it says? Every difference is named."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import blake2b

from django.core.files.storage import default_storage
from django.db import connection, models

from fleet import audit, locks
from fleet.actions.plans import digest_of
from fleet.models import AuditEntry, AuditHead, Plan

START = "0" * 64
CHUNK = 1000
# What reading raises when somebody wrote into the file what the product would never write.
UNREADABLE = (ValueError, KeyError, TypeError, AttributeError, IndexError, ArithmeticError)


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

    def take(self, entry: AuditEntry) -> None:
        for table, content in audit.parsed(entry).items():
            place = content["columns"].index("id") if content["rows"] else 0
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
    with audit.reading():
        yield from _differences(Latest())


def _differences(latest: Latest) -> Iterator[Difference]:
    yield from _chain(latest)
    for name in locks.missing(connection):
        yield Difference("lock", name, "the lock is not there, or does not do what it should")
    for model in audited_models():
        yield from _table(model, latest)
        if hasattr(model, "stored_at"):
            yield from _files(model)
    yield from _plans()
    for (table, pk), (_, number) in latest.rows.items():
        yield Difference("row", f"{table} {pk}", f"gone, though entry {number} names it")


def _plans() -> Iterator[Difference]:
    """The lines of a plan are many: the chain holds their digest, not the lines."""
    for plan in Plan.objects.exclude(proposed_at=None).iterator():
        if digest_of(list(plan.jobs.all())) != plan.digest:
            yield Difference("plan", f"plan {plan.pk}", "its lines are not those it was made of")


def audited_models() -> list[type[models.Model]]:
    return [model for model in locks.kept_models() if getattr(model, "is_audited", True)]


def _chain(latest: Latest) -> Iterator[Difference]:
    number, previous = 0, START
    for key, entry in _rows(AuditEntry):
        if key != number + 1:
            words = f"entries {number + 1} to {key - 1} are missing"
            yield Difference("chain", str(key), words)
        elif entry is not None and entry.previous != previous:
            yield Difference("chain", str(key), "does not follow from the entry before it")
        number, previous = key, entry.digest if entry else ""
        if entry is None:
            yield Difference("chain", str(key), "cannot be read")
            continue
        if audit.digest(entry) != entry.digest:
            yield Difference("chain", str(key), "was changed after it was written")
        try:
            latest.take(entry)
        except UNREADABLE:
            yield Difference("chain", str(key), "what it says cannot be read")
    head = AuditHead.objects.first() or AuditHead()
    if (head.number, head.digest) != (number, previous):
        words = f"the head stands at {head.number}, the last entry is {number}"
        yield Difference("chain", "head", words)


def _rows(model: type[models.Model]) -> Iterator[tuple]:
    """(primary key, row) in order; None for a row that does not read."""
    keys = list(model._default_manager.order_by("pk").values_list("pk", flat=True))
    for start in range(0, len(keys), CHUNK):
        chunk = keys[start : start + CHUNK]
        try:
            found = model._default_manager.in_bulk(chunk)
        except UNREADABLE:
            found = {key: row for key in chunk if (row := _alone(model, key)) is not None}
        yield from ((key, found.get(key)) for key in chunk)


def _alone(model: type[models.Model], key: object) -> models.Model | None:
    try:
        return model._default_manager.get(pk=key)
    except UNREADABLE:
        return None


def _table(model: type[models.Model], latest: Latest) -> Iterator[Difference]:
    """Compare every row with the chain; rows found are taken out of `latest`."""
    fields = audit.audited_fields(model)
    columns, table = [field.attname for field in fields], model._meta.db_table
    for key, row in _rows(model):
        known = latest.rows.pop((table, key), None)
        if known is None:
            yield Difference("row", f"{table} {key}", "is there, but no entry names it")
        elif row is None:
            words = f"cannot be read; entry {known[1]} says what it was"
            yield Difference("row", f"{table} {key}", words)
        else:
            values = [audit.plain_value(field, row) for field in fields]
            if known[0] != _fingerprint(columns, values):
                yield from _named(table, key, known[1], dict(zip(columns, values, strict=True)))


def _files(model: type[models.Model]) -> Iterator[Difference]:
    """A row that names a file by its digest: the file is there, and is what the digest says."""
    for key, row in _rows(model):
        if row is None:
            continue
        where = f"{model._meta.db_table} {key}"
        try:
            with default_storage.open(row.stored_at) as file:
                found = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError:
            yield Difference("file", where, f"{row.stored_at} is gone or cannot be read")
            continue
        if found != row.sha256:
            yield Difference("file", where, f"{row.stored_at} is not what its digest says")


def _named(table: str, key: object, number: int, now: dict) -> Iterator[Difference]:
    """The fields in which a row differs from the entry that last named it."""
    content = audit.parsed(AuditEntry.objects.get(number=number))[table]
    rows = [dict(zip(content["columns"], row, strict=False)) for row in content["rows"]]
    then = next(row for row in rows if row["id"] == key)
    for column, value in then.items():
        if column in now and audit.canonical(now[column]) != audit.canonical(value):
            words = f"{column} is {now[column]!r}, entry {number} says {value!r}"
            yield Difference("field", f"{table} {key}", words)
