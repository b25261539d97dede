"""The settings sheet: each ring, screw and clearance, as found and as left."""

from typing import Any

from fleet.calc.units import LENGTH, NOTCHES, TURNS
from fleet.exchange import cells
from fleet.exchange.compare import same, shown
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.models import Device, User
from inspections.exchange.setting_points import Settings
from inspections.models import SettingPoint, SettingReading, Stage

SHEET = Sheet(
    "settings",
    ("ref", "setting", "stage"),
    (
        Column("ref", cells.text(80), required=True),
        Column("setting", cells.text(80), required=True),
        Column("stage", cells.word(Stage.values), required=True),
        Column("value", cells.quantity(NOTCHES, TURNS, LENGTH)),
        Column("datum", cells.text(120)),
        Column("missing_reason", cells.telling()),
        Column("changed_reason", cells.telling()),
        Column("changed_by", cells.person()),
        Column("note", cells.text()),
    ),
)
COMPARED = ("value", "datum", "missing_reason", "changed_reason", "note")


def readings_of(
    run: Run, rows: list[Row], device: Device, settings: Settings, people: dict[str, User]
) -> list[SettingReading]:
    """The readings of one record; what contradicts itself is said."""
    found: dict[tuple[str, str], SettingReading] = {}
    for row in rows:
        reading = _reading(run, row, device, settings, people)
        if reading is None:
            continue
        key = (reading.setting, reading.stage)
        if found.setdefault(key, reading) is not reading:
            words = f"{reading.setting} once as {row['stage']} in {row['ref']}"
            run.say(row.fault("setting", words, code="duplicate"))
    return list(found.values())


def _reading(
    run: Run, row: Row, device: Device, settings: Settings, people: dict[str, User]
) -> SettingReading | None:
    try:
        slug = settings.slug(row["setting"], device)
    except cells.CellError as error:
        run.say(row.fault("setting", f"expected {error.expected}", code="unknown"))
        return None
    point = settings.point(device, slug)
    if not _is_whole(run, row, point):
        return None
    reading = SettingReading(setting=slug, stage=row["stage"], value=row["value"])
    reading.datum = row["datum"] or (point.datum if point else "")
    reading.is_datum_typed = row["datum"] is not None
    reading.missing_reason = row["missing_reason"] or ""
    reading.changed_reason = row["changed_reason"] or ""
    reading.changed_by = people.get((row["changed_by"] or "").casefold())
    reading.note = row["note"] or ""
    return reading


def _is_whole(run: Run, row: Row, point: SettingPoint | None) -> bool:
    """A value with the measure of its datum, or the reason why there is none."""
    value = row["value"]
    if (value is None) == (row["missing_reason"] is None):
        words = "a value, or under missing_reason why there is none"
        field = "value" if value is None else "missing_reason"
        run.say(row.fault(field, words, code="contradiction"))
        return False
    if value is not None and point and not row["datum"] and value.dimension != point.measure:
        words = f"a value in {point.measure}, or the datum that this one is measured from"
        run.say(row.fault("value", words, code="contradiction"))
        return False
    return True


def differences(
    row: Row, reading: SettingReading, stored: SettingReading | None
) -> list[tuple[str, Any]]:
    """(column, what is stored) wherever a row says something else."""
    if stored is None:
        return [("setting", None)]
    found = []
    for name in COMPARED:
        if row.given(name) and not same(getattr(reading, name), getattr(stored, name)):
            found.append((name, getattr(stored, name)))
    if row.given("changed_by") and reading.changed_by_id != stored.changed_by_id:
        found.append(("changed_by", stored.changed_by))
    return found


def cells_of(reading: SettingReading, settings: Settings, device: Device) -> dict[str, str]:
    """A reading as a row. Its datum is written where the setting point would not give it."""
    point = settings.point(device, reading.setting)
    is_own = point is not None and point.datum == reading.datum and not reading.is_datum_typed
    return {
        "setting": reading.setting,
        "stage": reading.stage,
        "value": shown(reading.value),
        "datum": "" if is_own else reading.datum,
        "missing_reason": reading.missing_reason,
        "changed_reason": reading.changed_reason,
        "changed_by": reading.changed_by.name if reading.changed_by else "",
        "note": reading.note,
    }
