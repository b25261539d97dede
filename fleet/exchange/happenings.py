"""The triggers, counters and out_of_service sheets: what happens at a position beside the work.

All three are dated facts: a row that says otherwise than the register is a fault. Nothing is
taken away by leaving it out; a return to service given later ends the span that is open.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from fleet.actions import happenings
from fleet.actions.happenings import Told
from fleet.exchange import cells
from fleet.exchange.compare import same, shown
from fleet.exchange.people import people_of
from fleet.exchange.places import position_of
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.models import CounterReading, OutOfService, Position, Site, Trigger, User

PLACE = (Column("site", cells.telling(120)), Column("tag", cells.text(80), required=True))
TRIGGERS = Sheet(
    "triggers",
    ("site", "tag", "kind", "happened_on"),
    (
        *PLACE,
        Column("kind", cells.word(Trigger.Kind.values), required=True),
        Column("happened_on", cells.day(past=True), required=True),
        Column("note", cells.text()),
    ),
)
COUNTERS = Sheet(
    "counters",
    ("site", "tag", "counter", "read_on"),
    (
        *PLACE,
        Column("counter", cells.telling(40), required=True),
        Column("read_on", cells.day(past=True), required=True),
        Column("value", cells.decimal(4, 10), required=True),
    ),
)
OUT_OF_SERVICE = Sheet(
    "out_of_service",
    ("site", "tag", "from_on"),
    (
        *PLACE,
        Column("from_on", cells.day(past=True), required=True),
        Column("to_on", cells.day(past=True)),
        Column("how", cells.text()),
        Column("by", cells.person()),
    ),
)
FIELDS = {"by": "told_by"}  # a column that is not named as its field
Known = dict[tuple, Any]


def load_triggers(run: Run, rows: Sequence[Row]) -> None:
    fresh, _ = _sorted(run, rows, TRIGGERS, _known(Trigger, TRIGGERS), _trigger)
    happenings.tell([row for _, row in fresh], by=run.by, at=run.at, replay=False)
    for row, trigger in fresh:
        run.wrote(row, trigger)
    _count(run, "triggers added", fresh)


def load_counters(run: Run, rows: Sequence[Row]) -> None:
    known = _known(CounterReading, COUNTERS)
    fresh, _ = _sorted(run, rows, COUNTERS, known, _reading)
    told = {id(reading): row for row, reading in fresh}
    back = happenings.backward(known.values()) if fresh else []
    for soon, late in back:
        wrong, words = happenings.not_backward(soon, late, late_is_new=id(late) in told)
        if id(wrong) in told:
            run.say(told[id(wrong)].fault("value", words, code="runs_back"))
    if not back:
        happenings.read([reading for _, reading in fresh], by=run.by, at=run.at, replay=False)
    _count(run, "counter readings added", fresh)


def load_out_of_service(run: Run, rows: Sequence[Row]) -> None:
    people = people_of(run, rows, "by")
    rows = [row for row in rows if _is_in_order(run, row)]
    known = _known(OutOfService, OUT_OF_SERVICE)

    def span(row: Row, position: Position) -> OutOfService:
        return _span(row, position, people)

    fresh, closing = _sorted(run, rows, OUT_OF_SERVICE, known, span)
    ends = [(stored, row.on("to_on")) for row, stored in closing]
    for stored, to_on in ends:
        stored.to_on = to_on
    told = {id(stored): row for row, stored in [*fresh, *closing]}
    clash = happenings.overlaps(known.values()) if told else []
    for soon, late in clash:
        row = told.get(id(late)) or told.get(id(soon))
        if row is not None:
            words = f"{happenings.apart_from(soon)}, and again from {late.from_on}"
            run.say(row.fault("from_on", words, code="overlap"))
    if not clash:
        happenings.bring_back(ends, by=run.by, at=run.at, replay=False)
        happenings.lay_up([row for _, row in fresh], by=run.by, at=run.at, replay=False)
    _count(run, "out of service added", fresh)
    _count(run, "out of service ended", closing)


def _known(model: type[Told], sheet: Sheet) -> Known:
    """What stands, by position and the rest of the sheet's key."""
    rows = model._default_manager.iterator(chunk_size=5000)
    return {_key(sheet, row): row for row in rows}


def _key(sheet: Sheet, thing: Told) -> tuple:
    return (thing.position_id, *(getattr(thing, name) for name in sheet.key[2:]))


def _sorted(
    run: Run, rows: Iterable[Row], sheet: Sheet, known: Known, build: Any
) -> tuple[list[tuple[Row, Any]], list[tuple[Row, Any]]]:
    """Rows that are new, and rows that end what stands, each with its thing; `known` gets the
    new. What contradicts the register or the sheet itself is said."""
    fresh, closing, seen = [], [], set()
    for row in rows:
        position = position_of(run, row)
        if position is None:
            continue
        thing = build(row, position)
        key = _key(sheet, thing)
        stored = known.setdefault(key, thing)
        if key in seen:
            words = "this " + " and ".join(sheet.key[2:]) + " once at a tag"
            run.say(row.fault(sheet.key[-1], words, code="duplicate"))
        elif stored is thing:
            fresh.append((row, thing))
        elif not _says_otherwise(run, row, sheet, thing, stored) and _ends(thing, stored):
            closing.append((row, stored))
        seen.add(key)
    return fresh, closing


def _says_otherwise(run: Run, row: Row, sheet: Sheet, thing: Told, stored: Told) -> bool:
    is_other = False
    for column in sheet.columns[2:]:
        name = FIELDS.get(column.name, column.name)
        held, closes = getattr(stored, name), name == "to_on" and _ends(thing, stored)
        if row.given(column.name) and not closes and not same(getattr(thing, name), held):
            words = f"{shown(held) or 'empty'}, as recorded: what happened is never rewritten"
            run.say(row.fault(column.name, words, code="dated_fact"))
            is_other = True
    return is_other


def _ends(thing: Told, stored: Told) -> bool:
    """Does the row bring back what still stands as out of service?"""
    if not isinstance(thing, OutOfService) or not isinstance(stored, OutOfService):
        return False
    return stored.to_on is None and thing.to_on is not None


def _is_in_order(run: Run, row: Row) -> bool:
    from_on, to_on = row.on("from_on"), row.on("to_on")
    if to_on is None or to_on > from_on:
        return True
    words = f"a day after it went out of service, {from_on}"
    run.say(row.fault("to_on", words, code="contradiction"))
    return False


def _trigger(row: Row, position: Position) -> Trigger:
    return Trigger(
        position=position,
        kind=row["kind"],
        happened_on=row.on("happened_on"),
        note=row["note"] or "",
    )


def _reading(row: Row, position: Position) -> CounterReading:
    return CounterReading(
        position=position, counter=row["counter"], read_on=row.on("read_on"), value=row["value"]
    )


def _span(row: Row, position: Position, people: dict[str, User]) -> OutOfService:
    return OutOfService(
        position=position,
        from_on=row.on("from_on"),
        to_on=row.on("to_on"),
        how=row["how"] or "",
        told_by=people.get((row["by"] or "").casefold()),
    )


def _count(run: Run, what: str, written: list[tuple[Row, Any]]) -> None:
    run.count(what, len(written))
    run.touched.update(thing.position_id for _, thing in written)


def dump_triggers(site: Site | None) -> Iterator[dict[str, str]]:
    return _dump(site, Trigger, TRIGGERS)


def dump_counters(site: Site | None) -> Iterator[dict[str, str]]:
    return _dump(site, CounterReading, COUNTERS)


def dump_out_of_service(site: Site | None) -> Iterator[dict[str, str]]:
    return _dump(site, OutOfService, OUT_OF_SERVICE, "told_by")


def _dump(
    site: Site | None, model: type[Told], sheet: Sheet, *linked: str
) -> Iterator[dict[str, str]]:
    rows = model._default_manager.select_related("position__site", *linked)
    rows = rows.filter(position__site=site) if site else rows
    for thing in rows.iterator(chunk_size=2000):
        cell = {
            column.name: shown(getattr(thing, FIELDS.get(column.name, column.name)))
            for column in sheet.columns[2:]
        }
        yield cell | {"site": thing.position.site.name, "tag": thing.position.tag}
