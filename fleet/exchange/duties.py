"""The changes sheet: what a position's duty became, field by field, from a day on."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import pairwise
from typing import Any

from fleet.actions import positions
from fleet.actions.rules import known_tolerances, tolerances_in_use
from fleet.calc.units import UnitsError
from fleet.exchange import cells
from fleet.exchange import positions as positions_sheet
from fleet.exchange.compare import same, shown
from fleet.exchange.places import position_of
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.faults import NOTE
from fleet.models import Position, PositionDuty, Site, ToleranceBand, Unit

LINKED = {"unit": "unit_id", "tolerance": "tolerance_id"}
FIELDS = ("tag", *LINKED, *positions_sheet.PLAIN_DUTY)
KINDS = {column.name: column for column in positions_sheet.SHEET.columns}
SHEET = Sheet(
    "changes",
    ("site", "tag", "field", "from_on"),
    (
        Column("site", cells.telling(120)),
        Column("tag", cells.text(80), required=True),
        Column("field", cells.word(FIELDS), required=True),
        Column("from_on", cells.day(), required=True),
        Column("value", cells.text()),
        Column("moc", cells.text(80)),
        Column("by", cells.person()),
    ),
)
Day = tuple[int, date]


def load(run: Run, rows: Sequence[Row]) -> None:
    grouped: dict[Day, list[tuple[Row, Position]]] = defaultdict(list)
    for row in rows:
        position = position_of(run, row)
        if position is not None:
            grouped[position.pk, row.on("from_on")].append((row, position))
        if row["by"]:
            words = "is not kept with a change; the run records who loaded it"
            run.say(row.fault("by", words, severity=NOTE, code="left_out"))
    history = _history(grouped)
    bands = tolerances_in_use(
        {r["value"] for r in rows if r["field"] == "tolerance" and r["value"]}, by=run.by, at=run.at
    )
    fresh: list[PositionDuty] = []
    stated = {(pk, row["field"], day) for (pk, day), group in grouped.items() for row, _ in group}
    for (pk, day), group in sorted(grouped.items()):
        duty = _duty(run, day, group, history[pk], bands)
        if duty is not None:
            _say_undone(run, duty, history[pk], group, stated)
            history[pk].append(duty)
            fresh.append(duty)
            run.wrote(group[0][0], duty)
    positions.change_duties(fresh, by=run.by, at=run.at, propose=False)
    run.lookups.add_positions(duty.position for duty in fresh)
    run.count("duties changed", len(fresh))
    run.touched.update(duty.position_id for duty in fresh)


def _history(grouped: dict[Day, Any]) -> dict[int, list[PositionDuty]]:
    keys, found = sorted({pk for pk, _ in grouped}), defaultdict(list)
    for start in range(0, len(keys), 1000):
        rows = PositionDuty.objects.filter(position__in=keys[start : start + 1000])
        for duty in rows.select_related("unit", "tolerance"):
            found[duty.position_id].append(duty)
    return found


def _duty(
    run: Run, day: date, group: list[tuple[Row, Position]], history: list[PositionDuty], bands: dict
) -> PositionDuty | None:
    """The new duty of a position from a day; None where it is recorded already, or at a fault."""
    values = _values(run, group, bands)
    stored = next((duty for duty in history if duty.from_on == day), None)
    if stored is not None or values is None:
        for name, (row, value) in (values or {}).items():
            if stored is not None and not same(value, getattr(stored, name)):
                held = shown(getattr(stored, name)) or "empty"
                words = f"{held}, as recorded from {day}: a duty is never rewritten"
                run.say(row.fault("value", words, code="dated_fact"))
        return None
    earlier = [duty for duty in history if (duty.from_on or date.min) < day]
    before = max(earlier, key=lambda duty: duty.from_on or date.min)
    duty = PositionDuty(position=group[0][1], from_on=day)
    for name in positions_sheet.SNAPSHOT:
        setattr(duty, name, getattr(before, name))
    duty.moc = next((row["moc"] for row, _ in group if row["moc"]), "")
    for name, (_, value) in values.items():
        setattr(duty, name, value)
    return duty


def _say_undone(
    run: Run,
    duty: PositionDuty,
    history: list[PositionDuty],
    group: list[tuple[Row, Position]],
    stated: set[tuple[int, str, date]],
) -> None:
    """A fault for what a duty recorded earlier, for a later day, would silently take back."""
    later = [other for other in history if other.from_on and other.from_on > duty.from_on]
    if not later:
        return
    following = min(later, key=lambda other: other.from_on)
    for row, _ in group:
        name, day = row["field"], following.from_on
        held = getattr(following, name)
        if not same(held, getattr(duty, name)) and (duty.position_id, name, day) not in stated:
            words = (
                f"a day after {day}: the duty recorded from then has {shown(held) or 'none'} and"
                " is never rewritten; or say in a row of its own that it is so again from then"
            )
            run.say(row.fault("from_on", words, code="dated_fact"))


def _values(run: Run, group: list[tuple[Row, Position]], bands: dict) -> dict | None:
    """{field: (row, value)} of one position and day; None when one cannot be read."""
    found: dict[str, tuple[Row, Any]] = {}
    is_sound = True
    for row, position in group:
        if row["field"] in found:
            run.say(row.fault("field", "a field once a day", code="duplicate"))
            is_sound = False
            continue
        try:
            found[row["field"]] = (row, _value(run, row, position, bands))
        except (cells.CellError, UnitsError) as error:
            run.say(row.fault("value", f"expected {error.expected}", typed=error.typed))
            is_sound = False
    return found if is_sound else None


def _value(run: Run, row: Row, position: Position, bands: dict[str, ToleranceBand]) -> Any:
    name, typed = row["field"], row["value"]
    column = KINDS[name]
    if typed is None:
        if not row.given("value") or column.required:
            raise cells.CellError("", "a value, or !clear where the field may be empty")
        return None if PositionDuty._meta.get_field(name).null else ""
    if name == "tag":
        _claim(run, position, typed)
    if name == "unit":
        return _named(run.lookups.units.get((position.site_id, typed)), typed, "a unit of the site")
    if name == "tolerance":
        return _named(bands.get(typed), typed, "one of " + ", ".join(known_tolerances()))
    return column.kind.read(typed, run.reading())


def _claim(run: Run, position: Position, tag: str) -> None:
    """A tag belongs to one position for ever: rows that name it must mean that one."""
    owner = run.lookups.positions.setdefault((position.site_id, tag), position)
    if owner.pk != position.pk:
        raise cells.CellError(tag, "a tag that no other position of the site has or had")


def _named(found: Unit | ToleranceBand | None, typed: str, expected: str) -> Any:
    if found is None:
        raise cells.CellError(typed, expected)
    return found


def dump(site: Site | None) -> Iterator[dict[str, str]]:
    """What differs between each duty and the one before it, by the tag of the positions sheet."""
    rows = PositionDuty.objects.select_related("position__site", "unit", "tolerance")
    rows = rows.filter(position__site=site) if site else rows
    history: dict[int, list[PositionDuty]] = defaultdict(list)
    for duty in rows:
        history[duty.position_id].append(duty)
    for duties in history.values():
        duties.sort(key=lambda duty: duty.from_on or date.min)
        for before, duty in pairwise(duties):
            yield from _differences(duties[0].tag, before, duty)


def _differences(tag: str, before: PositionDuty, duty: PositionDuty) -> Iterator[dict[str, str]]:
    names = [
        n for n in FIELDS if n != "moc" and shown(getattr(before, n)) != shown(getattr(duty, n))
    ]
    if not names and before.moc != duty.moc:
        names = ["moc"]
    for name in names:
        value = getattr(duty, name)
        text = value.code if isinstance(value, ToleranceBand) else shown(value)
        yield {
            "site": duty.position.site.name,
            "tag": tag,
            "field": name,
            "from_on": shown(duty.from_on),
            "value": text or cells.CLEAR_WORD,
            "moc": duty.moc,
            "by": "",
        }
