"""The inspections, settings and findings sheets, loaded together."""

from collections.abc import Iterable, Iterator, Sequence

from fleet.actions.devices import update_devices
from fleet.exchange.people import people_of
from fleet.exchange.run import Run
from fleet.exchange.sheets import Row
from fleet.faults import NOTE
from inspections.actions.assess import why_not_counted
from inspections.actions.record import record_finished
from inspections.actions.records import Record
from inspections.actions.verify import lock
from inspections.exchange.build import Builder, Sources, by_ref
from inspections.exchange.doubts import of_records
from inspections.exchange.questions import assumed_gauge, say_findings
from inspections.exchange.stored import Stored
from inspections.models import Inspection, Question

BATCH = 2000


def load(run: Run, rows: Sequence[Row], settings: Sequence[Row], findings: Sequence[Row]) -> None:
    """New records are written; stored ones are compared; what contradicts is said."""
    run.progress("inspections", 0, len(rows))
    rows = list(_once(run, rows))
    people = people_of(run, rows, "done_by", "verified_by")
    people = people_of(run, settings, "changed_by") or people
    sources = Sources(rows, by_ref(settings), by_ref(findings))
    stored = Stored(run, Builder(run, sources, people))
    known = stored.ids(sources.refs())
    _say_orphans(run, sources, known)
    stored.compare(known)
    _verify(run, stored)
    fresh = [row for row in rows if row["ref"] not in known]
    for layer in _layers(run, fresh, known):
        _load_layer(run, stored.builder, layer, known)


def _once(run: Run, rows: Iterable[Row]) -> Iterator[Row]:
    seen: dict[str, int] = {}
    for row in rows:
        first = seen.setdefault(row["ref"], row.number)
        if first == row.number:
            yield row
        else:
            run.say(row.fault("ref", f"a ref once; it is in row {first} too", code="duplicate"))


def _say_orphans(run: Run, sources: Sources, known: dict[str, int]) -> None:
    here = {row["ref"] for row in sources.rows} | set(known)
    for children in (sources.settings, sources.findings):
        for ref, rows in children.items():
            if ref not in here and not run.is_broken("inspection", ref):
                words = "a ref of the inspections sheet or the register"
                run.say(rows[0].fault("ref", words, code="unknown"))


def _layers(run: Run, rows: list[Row], known: dict[str, int]) -> Iterator[list[Row]]:
    """Records before their corrections. Within a layer one device's records stand together."""
    waiting, ready = [], set(known)
    for row in rows:
        if row["corrects"]:
            waiting.append(row)
        else:
            ready.add(row["ref"])
    yield sorted((r for r in rows if not r["corrects"]), key=lambda row: row["device"])
    while waiting:
        layer = [row for row in waiting if row["corrects"] in ready]
        waiting = [row for row in waiting if row["corrects"] not in ready]
        if not layer:
            _say_unknown_corrected(run, waiting)
            return
        yield layer
        ready.update(row["ref"] for row in layer)


def _say_unknown_corrected(run: Run, rows: list[Row]) -> None:
    for row in rows:
        if not run.is_broken("inspection", row["corrects"]):
            words = "the ref of another record, of this sheet or the register"
            run.say(row.fault("corrects", words, code="unknown"))


def _load_layer(run: Run, builder: Builder, rows: list[Row], known: dict[str, int]) -> None:
    corrected = set(
        Inspection.objects.exclude(corrects=None).values_list("corrects", flat=True)
        if any(row["corrects"] for row in rows)
        else ()
    )
    batch: list[tuple[Row, Record]] = []
    device = None
    for number, row in enumerate(rows):
        if len(batch) >= BATCH and row["device"] != device:
            _write(run, batch, known)
            batch = []
            run.progress("inspections", number, len(rows))
        device = row["device"]
        record = builder.build(row)
        if record is not None and _point_at_corrected(run, row, record, known, corrected):
            batch.append((row, record))
    _write(run, batch, known)
    run.progress("inspections", len(rows), len(rows))


def _point_at_corrected(
    run: Run, row: Row, record: Record, known: dict[str, int], corrected: set[int]
) -> bool:
    if not row["corrects"]:
        return True
    old = known.get(row["corrects"])
    if old is None:  # its own row had a fault, which was said
        return False
    if old in corrected:
        words = "a record that no other one corrects already"
        run.say(row.fault("corrects", words, code="corrected_twice"))
        return False
    corrected.add(old)
    record.inspection.corrects_id = old
    return True


def _verify(run: Run, stored: Stored) -> None:
    """Lock the open records whose rows say now who verified them."""
    if not stored.verified or run.report.faults:
        return
    for row, record in stored.verified:
        record.inspection.verified_by = stored.builder.people[row["verified_by"].casefold()]
    questions = lock([record for _, record in stored.verified], by=run.by, at=run.at)
    _say_what_came(run, stored.verified, questions)
    run.count("inspections verified", len(stored.verified))


def _write(run: Run, batch: list[tuple[Row, Record]], known: dict[str, int]) -> None:
    """Nothing more is written once a fault was said: the run will be undone anyway."""
    if not batch or run.report.faults:
        known.update({row["ref"]: -row.number for row, _ in batch})
        return
    records = [record for _, record in batch]
    questions = record_finished(records, by=run.by, at=run.at)
    questions += assumed_gauge(run, batch)
    questions += of_records(run, batch)
    _say_what_came(run, batch, questions)
    _house(run, records)
    known.update({record.inspection.ref: record.inspection.pk for record in records})
    run.count("inspections added", len(records))
    run.count("settings added", sum(len(record.settings) for record in records))
    run.count("findings added", sum(len(record.findings) for record in records))


def _house(run: Run, records: Iterable[Record]) -> None:
    """A device that never stood anywhere belongs to the site that recorded work on it."""
    homeless = {}
    for record in records:
        device, site = record.inspection.device, record.inspection.site_id
        if device.site_id is None and site is not None:
            device.site_id = site
            homeless[device.pk] = device
    update_devices(list(homeless.values()), by=run.by, at=run.at, fields=["site"])


def _say_what_came(
    run: Run, batch: list[tuple[Row, Record]], questions: Sequence[Question]
) -> None:
    """What the records of a batch ask, which of them set no clock, and what they touched."""
    rows = {record.inspection.pk: row for row, record in batch}
    say_findings(run, ((rows[q.inspection_id], q) for q in questions))
    for row, record in batch:
        inspection = record.inspection
        _say_not_counted(run, row, record)
        run.moved_devices.add(inspection.device_id)
        if inspection.event_id and inspection.position_id:
            run.touched.add(inspection.position_id)
        if inspection.is_baseline and inspection.position_id:
            run.first_found.add(inspection.position_id)


def _say_not_counted(run: Run, row: Row, record: Record) -> None:
    """An answered record that sets no clock is told so: nobody must believe that it does."""
    why = why_not_counted(record)
    if why and record.inspection.locked_at is not None:
        words = f"{record.inspection.ref} does not count: {why}"
        run.say(row.fault("disposition", words, severity=NOTE, code="not_counted"))
