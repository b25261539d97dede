"""Rows of records that are stored already: the same again, or a change that must be refused."""

from collections import defaultdict
from collections.abc import Iterable
from itertools import islice

from fleet.exchange.compare import changed, same, shown
from fleet.exchange.places import may_touch
from fleet.exchange.run import Run
from fleet.exchange.sheets import Row
from fleet.faults import NOTE
from inspections.actions.records import Record, records_of
from inspections.exchange import findings, pops, readings
from inspections.exchange.build import Builder
from inspections.exchange.sheet import PLAIN
from inspections.models import Inspection

BATCH = 1000
Difference = tuple[Row, str, object]


class Stored:
    """Compares rows with the records they name."""

    def __init__(self, run: Run, builder: Builder) -> None:
        self.run, self.builder = run, builder
        self.verified: list[tuple[Row, Record]] = []  # open so far; the row names who verified

    def ids(self, refs: Iterable[str]) -> dict[str, int]:
        """Primary keys of the records that are stored, by ref."""
        found: dict[str, int] = {}
        wanted = iter(sorted(refs))
        while chunk := list(islice(wanted, BATCH)):
            rows = Inspection.objects.filter(ref__in=chunk)
            found.update(rows.values_list("ref", "pk"))
        return found

    def compare(self, known: dict[str, int]) -> None:
        """A locked record must be as its rows say; an open one is left to its page."""
        sources = self.builder.sources
        rows = {row["ref"]: row for row in sources.rows if row["ref"] in known}
        keys = sorted(known.values())
        for start in range(0, len(keys), BATCH):
            stored = Inspection.objects.filter(pk__in=keys[start : start + BATCH])
            stored = stored.select_related("device__model", "done_by", "verified_by", "corrects")
            for record in records_of(list(stored)):
                self._compare(record, rows.get(record.inspection.ref))

    def _compare(self, record: Record, row: Row | None) -> None:
        inspection = record.inspection
        ref = inspection.ref
        found = self._settings(record) + self._findings(record)
        if row is not None:
            if not may_touch(self.run, row, "ref", inspection.site_id):
                return
            found = _of_row(row, record) + found
            if _only_verifies(row, record, found):
                if self.builder.is_right(row):
                    self.verified.append((row, record))
                return
        for at, column, held in found:
            words = f"{shown(held) or 'nothing'}, as recorded"
            if inspection.locked_at is None:
                advice = f"{ref} is open: change it on its page"
            else:
                advice = f"{ref} is locked: give the change a new ref and say `corrects` {ref}"
            self.run.say(at.fault(column, f"{words}; {advice}", code="locked"))
        if row is not None and inspection.locked_at is None and not found:
            words = "is not verified yet; verify it on its page"
            self.run.say(row.fault("ref", words, severity=NOTE, code="open"))

    def _settings(self, record: Record) -> list[Difference]:
        inspection = record.inspection
        rows = self.builder.sources.settings.get(inspection.ref, [])
        if not rows:
            return []
        held = {(r.setting, r.stage): r for r in record.settings}
        found: list[Difference] = []
        fresh = {
            (reading.setting, reading.stage): reading
            for reading in self.builder.readings(inspection.ref, inspection.device)
        }
        for row in rows:
            key = self._key(row, inspection)
            if key in fresh:
                differing = readings.differences(row, fresh[key], held.get(key))
                found += [(row, column, value) for column, value in differing]
        return found

    def _key(self, row: Row, inspection: Inspection) -> tuple[str, str]:
        try:
            return self.builder.settings.slug(row["setting"], inspection.device), row["stage"]
        except ValueError:  # said when the readings were built
            return "", row["stage"]

    def _findings(self, record: Record) -> list[Difference]:
        rows = self.builder.sources.findings.get(record.inspection.ref, [])
        held = defaultdict(lambda: None, {(f.part, f.order): f for f in record.findings})
        found: list[Difference] = []
        for row, finding in zip(rows, findings.findings_of(rows), strict=True):
            differing = findings.differences(row, finding, held[finding.part, finding.order])
            found += [(row, column, value) for column, value in differing]
        return found


def _only_verifies(row: Row, record: Record, found: list[Difference]) -> bool:
    """Is a signed record as its row says, but that the row names who verified it?"""
    inspection = record.inspection
    is_waiting = inspection.locked_at is None and inspection.signed_at is not None
    return is_waiting and found == [(row, "verified_by", None)]


def _of_row(row: Row, record: Record) -> list[Difference]:
    """Columns of the inspections row that are given and not as stored."""
    inspection = record.inspection
    held = {name: getattr(inspection, name) for name in changed(row, inspection, PLAIN)}
    people = {"done_by": inspection.done_by, "verified_by": inspection.verified_by}
    for name, person in people.items():
        if row[name] and (person is None or person.name.casefold() != row[name].casefold()):
            held[name] = person
    if row["device"] != inspection.device.number:
        held["device"] = inspection.device
    if row.given("tag") and row.text("tag") != inspection.tag_typed:
        held["tag"] = inspection.tag_typed
    if (row.on("done_on"), row.typed("done_on")) != (inspection.done_on, inspection.done_typed):
        held["done_on"] = inspection.done_typed or inspection.done_on
    old = inspection.corrects.ref if inspection.corrects else ""
    if row.given("corrects") and row.text("corrects") != old:
        held["corrects"] = old
    popped = pops.cells_of(record.pops)
    for name in pops.COLUMNS:
        if row.given(name) and not _same_pops(row[name], popped[name]):
            held[name] = popped[name]
    return [(row, name, value) for name, value in held.items()]


def _same_pops(one: object, other: object) -> bool:
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(same, one, other))
    return same(one, other)
