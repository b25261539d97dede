"""The kinds of visit: what one record of each says."""

from datetime import date, timedelta

from inspections.demo import plan, pops, settings
from inspections.demo.devices import Device
from inspections.demo.dice import Dice
from inspections.demo.people import (
    ENGINEER,
    INSPECTORS,
    OUTSIDE_SHOP,
    OUTSIDE_SHOP_NUMBER,
    SITE_SHOP,
    SITE_SHOP_NUMBER,
)
from inspections.demo.plant import Position
from inspections.demo.world import Record, World

LARGE = {"L", "M", "Q", "R"}  # too heavy for the site's own bench
SEEN = (
    ("disc", "light scoring", "lapped"),
    ("disc", "deposits on seat face", "cleaned and lapped"),
    ("nozzle", "seat wire-drawn at one place", "lapped, contact check unbroken"),
    ("nozzle", "light corrosion", "polished"),
    ("stem", "dry", "cleaned and greased"),
    ("guide", "deposits", "cleaned"),
    ("spring", "paint flaking, no pitting", "recoated"),
    ("body", "product residue in outlet", "washed out"),
    ("inlet", "scale at the flange face", "cleaned"),
)


def maker_test(world: World, device: Device, on: date) -> None:
    """The certificate a device comes with."""
    dice = Dice("maker", device.number)
    device.level = max(-60, min(60, dice.bell(20)))
    tested = pops.Pops((device.level,), device.level)
    device.seal = f"M{dice.whole(10000, 99999)}"
    record = Record(device, "bench_test", on, settings=settings.as_delivered(device))
    read = pops.fields(device, tested, dice, on)
    for field in ("first_pop", "first_pop_result", "later_pops"):
        read.pop(field)
    record.fields = {
        "done_by": device.model.tester,
        "verified_by": dice.pick(INSPECTORS),
        "shop": device.model.maker,
        "method": "maker",
        "medium": "water" if device.group.phase == "liquid" else "air",
        "seal_left": device.seal,
        "disposition": "reinstalled",
        "certificate": f"{device.serial}/{on.year % 100}",
        **read,
    }
    world.record(record)
    device.ready_on = on


def shop_visit(
    world: World,
    device: Device,
    on: date,
    *,
    tag: str = "",
    activity: str = "overhaul",
    found: int | None = None,
) -> Record:
    """Popped, stripped and put back (overhaul), or only popped and reset (bench_test)."""
    dice = Dice("shop", device.number, on)
    outside = device.group.orifice in LARGE
    thrown = pops.throw(device, on, drift=_drift(device, on), found=found)
    record = Record(device, activity, on, tag, settings=settings.visit(device, on, thrown))
    seal_found, device.seal = _seal(device, dice), f"VS{dice.whole(10000, 99999)}"
    record.fields = {
        "shop": OUTSIDE_SHOP if outside else SITE_SHOP,
        "shop_authorization": OUTSIDE_SHOP_NUMBER if outside else SITE_SHOP_NUMBER,
        "method": "bench",
        "medium": "water" if device.group.phase == "liquid" else "air",
        "seal_found": seal_found,
        "seal_left": device.seal,
        "disposition": "repaired" if activity == "overhaul" else "reinstalled",
        **pops.fields(device, thrown, dice, on),
    }
    if device.number in plan.RESTLESS:
        record.fields["done_by"] = plan.RESTLESS[device.number]
    if activity == "overhaul" and dice.chance(38):
        part, condition, action = dice.pick(SEEN)
        record.find(part, condition, action=action)
    device.level, device.ready_on = thrown.left, on + timedelta(days=1)
    return world.record(record)


def _drift(device: Device, on: date) -> int:
    """Springs relax a little: hundredths of a percent since the last visit."""
    if device.number in plan.WEAKENING:
        return -(40 + 34 * (on.year - plan.WEAKENING[device.number]))
    years = (on - device.ready_on).days / 365
    return -round(years * (12 if device.group.severity == "severe" else 4))


def _seal(device: Device, dice: Dice) -> str:
    if dice.chance(1):
        return "missing"
    return f"broken, {device.seal}" if dice.chance(1) else device.seal


def in_place_test(
    world: World,
    position: Position,
    on: date,
    *,
    assisted: bool = False,
    found: int | None = None,
) -> Record:
    device = world.fitted(position, on)
    dice = Dice("in place", position.tag, on)
    thrown = pops.throw(device, on, found=found)
    record = Record(device, "in_place_test", on, position.tag)
    record.fields = {
        "method": "in_place_assist" if assisted else "in_place_pressure",
        "medium": _medium(position),
        "seal_found": device.seal,
        "disposition": "reinstalled",
        **pops.fields(device, thrown, dice, on),
        "cold_test_pressure": "",
        "leak_rate": "",
    }
    if thrown.adjusted:
        device.seal = f"VS{dice.whole(10000, 99999)}"
        record.fields["remarks"] = "Adjusted in place and sealed again."
        record.settings = settings.screw_only(device, thrown)
    record.fields["seal_left"] = device.seal
    device.level = thrown.left
    return world.record(record)


def _medium(position: Position) -> str:
    return "gas" if position.group.phase == "gas" else "steam"


def lever_lift(world: World, position: Position, on: date) -> Record:
    fields = {"disposition": "reinstalled", "remarks": "Lifted by lever, freely, and reseated."}
    return world.record(
        Record(world.fitted(position, on), "lever", on, position.tag, fields=dict(fields))
    )


def look(world: World, position: Position, on: date) -> Record:
    """External on stream: piping, bonnet vent, car seals, tailpipe."""
    record = Record(world.fitted(position, on), "visual", on, position.tag)
    record.fields = {"disposition": "reinstalled"}
    dice = Dice("look", position.tag, on)
    if dice.chance(6):
        record.find("tailpipe", "drain hole blocked", action="cleared")
    return world.record(record)


def capacity_review(world: World, position: Position, on: date) -> Record:
    record = Record(world.fitted(position, on), "capacity_review", on, position.tag)
    record.fields = {
        "done_by": ENGINEER,
        "disposition": "reinstalled",
        "remarks": "Required capacity unchanged; rated capacity above it.",
    }
    return world.record(record)


def disc_change(world: World, position: Position, device: Device, on: date) -> Record:
    record = Record(device, "disc_change", on, position.tag)
    record.fields = {
        "disposition": "reinstalled",
        "remarks": f"New disc, lot {device.lot}, burst pressure and temperature checked.",
    }
    return world.record(record)
