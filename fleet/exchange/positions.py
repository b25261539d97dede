"""The positions sheet. Sites, units and equipment come into being by mention."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from fleet.actions import plant, positions
from fleet.actions.rules import known_tolerances, tolerances_in_use
from fleet.calc.units import GAS_FLOW, GAUGE, LIQUID_FLOW, MASS_FLOW
from fleet.exchange import cells
from fleet.exchange.compare import changed, same, shown, value_of
from fleet.exchange.equipment import mention_equipment
from fleet.exchange.places import may_touch, site_name
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.faults import NOTE
from fleet.models import (
    DutyRole,
    Position,
    PositionDuty,
    PositionStatus,
    Site,
    ToleranceBand,
    Unit,
)

GAUGED = cells.quantity(GAUGE)
SHEET = Sheet(
    "positions",
    ("site", "tag"),
    (
        Column("site", cells.telling(120)),
        Column("tag", cells.text(80), required=True),
        Column("unit", cells.text(120), required=True),
        Column("equipment", cells.telling(120)),
        Column("equipment_mawp", GAUGED),
        Column("duty_role", cells.word(DutyRole.values)),
        Column("set_pressure", GAUGED, required=True),
        Column("vacuum_set", GAUGED),
        Column("cold_test_pressure", GAUGED),
        Column("back_pressure", GAUGED),
        Column("back_pressure_kind", cells.word(PositionDuty.BackPressureKind.values)),
        Column("temperature_multiplier", cells.decimal(5, 3)),
        Column("fluid", cells.text(80)),
        Column("phase", cells.word(PositionDuty.Phase.values)),
        Column("severity", cells.word(PositionDuty.Severity.values)),
        Column("discharge", cells.word(PositionDuty.Discharge.values)),
        Column("isolation", cells.word(PositionDuty.Isolation.values)),
        Column("tolerance", cells.text(60)),
        Column("required_capacity", cells.quantity(MASS_FLOW, GAS_FLOW, LIQUID_FLOW)),
        Column("in_service_on", cells.day(partial=True)),
        Column("commissioned_on", cells.day(partial=True)),
        Column("status", cells.word(PositionStatus.values)),
        Column("moc", cells.text(80)),
        Column("note", cells.text()),
    ),
)
PLAIN_DUTY = (
    "status",
    "duty_role",
    "set_pressure",
    "vacuum_set",
    "cold_test_pressure",
    "back_pressure",
    "back_pressure_kind",
    "temperature_multiplier",
    "fluid",
    "phase",
    "severity",
    "discharge",
    "isolation",
    "required_capacity",
    "moc",
)
SNAPSHOT = ("tag", "unit_id", "tolerance_id", *PLAIN_DUTY)


def load(run: Run, rows: Sequence[Row]) -> None:
    placed = list(_placed(run, rows))
    _mention_units(run, placed)
    equipment = mention_equipment(run, placed)
    bands = _tolerances(run, (row for row, _ in placed))
    initial, current = _duties(run, placed)
    fresh, moved, touched = [], [], []
    for row, site in placed:
        if row["tolerance"] and row["tolerance"] not in bands:
            _unknown_tolerance(run, row)
            continue
        stored = run.lookups.positions.get((site.pk, row["tag"]))
        links = {
            "unit": run.lookups.units[site.pk, row["unit"]],
            "tolerance": bands.get(row["tolerance"]),
            "equipment": equipment.get((site.pk, row["equipment"])),
        }
        if stored is None:
            fresh.append((row, _new(row, site, links)))
            continue
        if stored.tag != row["tag"]:
            words = f"is the former tag of {stored.tag}, which this row is about"
            run.say(row.fault("tag", words, severity=NOTE, code="former_tag"))
        if may_touch(run, row, "tag", stored.site_id):
            if _change_position(row, stored, links):
                touched.append((row, stored))
            duty = _new_duty(run, row, links, initial[stored.pk], current[stored.pk])
            if duty is not None:
                moved.append((row, duty))
    _write(run, fresh, moved, touched)


def _write(run: Run, fresh: list, moved: list, touched: list) -> None:
    positions.add_positions([duty for _, duty in fresh], by=run.by, at=run.at)
    positions.update_positions([stored for _, stored in touched], by=run.by, at=run.at)
    positions.change_duties([duty for _, duty in moved], by=run.by, at=run.at, propose=False)
    run.lookups.add_positions(duty.position for _, duty in fresh)
    run.count("positions added", len(fresh))
    run.count("positions changed", len(touched))
    run.count("duties changed", len(moved))
    for row, duty in [*fresh, *moved]:
        run.wrote(row, duty)
        run.touched.add(duty.position_id)
    run.touched.update(stored.pk for _, stored in touched)


def _placed(run: Run, rows: Iterable[Row]) -> Iterator[tuple[Row, Site]]:
    """Each row with its site; sites that are new come into being."""
    named = [(row, site_name(run, row)) for row in rows]
    wanted = {name for _, name in named if name} - set(run.lookups.sites)
    new = [Site(name=name) for name in sorted(wanted)]
    plant.add_mentioned(new, by=run.by, at=run.at)
    run.lookups.sites.update({site.name: site for site in new})
    run.count("sites added", len(new))
    seen: dict[tuple[str, str], int] = {}
    for row, name in named:
        if name is None:
            run.mark_broken("position", row["tag"])
            continue
        first = seen.setdefault((name, row["tag"]), row.number)
        if first != row.number:
            run.say(row.fault("tag", f"a tag once; it is in row {first} too", code="duplicate"))
            continue
        yield row, run.lookups.sites[name]


def _mention_units(run: Run, placed: list[tuple[Row, Site]]) -> None:
    known = run.lookups.units
    wanted = {(site.pk, row["unit"]) for row, site in placed} - set(known)
    new = [Unit(site_id=site_id, name=name) for site_id, name in sorted(wanted)]
    plant.add_mentioned(new, by=run.by, at=run.at)
    known.update({(unit.site_id, unit.name): unit for unit in new})
    run.count("units added", len(new))


def _tolerances(run: Run, rows: Iterable[Row]) -> dict[str | None, ToleranceBand]:
    codes = {row["tolerance"] for row in rows if row["tolerance"]}
    return dict(tolerances_in_use(codes, by=run.by, at=run.at).items())


def _unknown_tolerance(run: Run, row: Row) -> None:
    if not run.is_broken("tolerance", row["tolerance"]):
        words = "one of " + ", ".join(known_tolerances())
        run.say(row.fault("tolerance", words, code="unknown"))
    run.mark_broken("position", row["tag"])


def _duties(
    run: Run, placed: list[tuple[Row, Site]]
) -> tuple[dict[int, PositionDuty], dict[int, PositionDuty]]:
    """The first duty of each stored position of the sheet, and the one in force today."""
    known = run.lookups.positions
    stored = [known[site.pk, r["tag"]] for r, site in placed if (site.pk, r["tag"]) in known]
    by_pk = {position.pk: position for position in stored}
    keys, initial, current = sorted(by_pk), {}, {}
    for start in range(0, len(keys), 1000):
        rows = PositionDuty.objects.filter(position__in=keys[start : start + 1000])
        for duty in sorted(rows, key=lambda row: (row.from_on is not None, row.from_on)):
            duty.position = by_pk[duty.position_id]
            initial.setdefault(duty.position_id, duty)
            if duty.from_on is None or duty.from_on <= run.today:
                current[duty.position_id] = duty
    return initial, current


def _new(row: Row, site: Site, links: dict[str, Any]) -> PositionDuty:
    """The first duty of a new position, "always" in force."""
    position = Position(site=site, tag=row["tag"], equipment=links["equipment"])
    position.note = row["note"] or ""
    for name in ("in_service", "commissioned"):
        setattr(position, f"{name}_on", row.on(f"{name}_on"))
        setattr(position, f"{name}_typed", row.typed(f"{name}_on"))
    duty = PositionDuty(
        position=position, tag=row["tag"], unit=links["unit"], tolerance=links["tolerance"]
    )
    duty.status = PositionStatus.IN_SERVICE
    for name in PLAIN_DUTY:
        if row[name] is not None:
            setattr(duty, name, row[name])
    return duty


def _change_position(row: Row, stored: Position, links: dict[str, Any]) -> bool:
    """Put on the position what the row says of it; True if that changes anything."""
    before = [getattr(stored, f"{name}_id" if name == "equipment" else name)
              for name in positions.OWN_FIELDS]  # fmt: skip
    if row.given("equipment"):
        stored.equipment = links["equipment"]
    if row.given("note"):
        stored.note = row["note"] or ""
    for name in ("in_service", "commissioned"):
        if row.given(f"{name}_on"):
            setattr(stored, f"{name}_on", row.on(f"{name}_on"))
            setattr(stored, f"{name}_typed", row.typed(f"{name}_on"))
    after = [getattr(stored, f"{name}_id" if name == "equipment" else name)
             for name in positions.OWN_FIELDS]  # fmt: skip
    return before != after


def _new_duty(
    run: Run, row: Row, links: dict[str, Any], initial: PositionDuty, current: PositionDuty
) -> PositionDuty | None:
    """The duty a row brings from today on; None where it says what held first or holds now."""
    differing = _differing(row, links, current)
    if not differing:
        return None
    if not _differing(row, links, initial):
        words = "is what held first and leaves what holds now; date a change back in `changes`"
        run.say(row.fault(differing[0], words, severity=NOTE, code="first_duty"))
        return None
    if current.from_on == run.today:
        words = "nothing else: a change from today is recorded already; date it in `changes`"
        run.say(row.fault(differing[0], words, code="dated_fact"))
        return None
    duty = PositionDuty(position=current.position, from_on=run.today)
    for name in SNAPSHOT:
        setattr(duty, name, getattr(current, name))
    duty.moc = ""
    for name in differing:
        value = links[name] if name in links else value_of(row, name, duty)
        before = getattr(current, name)
        setattr(duty, name, value)
        words = f"was {shown(before) or 'empty'}; from {run.today} it is as typed"
        run.say(row.fault(name, words, severity=NOTE, code="duty_changed"))
    return duty


def _differing(row: Row, links: dict[str, Any], duty: PositionDuty) -> list[str]:
    linked = [
        name
        for name in ("unit", "tolerance")
        if row.given(name) and not same(links[name], getattr(duty, name))
    ]
    return linked + changed(row, duty, PLAIN_DUTY)


def dump(site: Site | None) -> Iterator[dict[str, str]]:
    """Every position with its first duty; what changed since is in `changes`."""
    rows = PositionDuty.objects.filter(from_on=None).select_related(
        "position__site", "position__equipment", "unit", "tolerance"
    )
    rows = rows.filter(position__site=site) if site else rows
    for duty in rows.iterator(chunk_size=2000):
        position, equipment = duty.position, duty.position.equipment
        cell = {name: shown(getattr(duty, name)) for name in PLAIN_DUTY}
        yield cell | {
            "site": position.site.name,
            "tag": duty.tag,
            "unit": duty.unit.name,
            "equipment": equipment.name if equipment else "",
            "equipment_mawp": shown(equipment.mawp) if equipment else "",
            "tolerance": duty.tolerance.code if duty.tolerance else "",
            "in_service_on": position.in_service_typed or shown(position.in_service_on),
            "commissioned_on": position.commissioned_typed or shown(position.commissioned_on),
            "note": position.note,
        }
