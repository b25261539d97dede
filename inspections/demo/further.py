"""The further groups as their diary has it, each valve coming back to its own place."""

from collections.abc import Callable, Iterator
from datetime import date, timedelta

from inspections.demo import plan
from inspections.demo.devices import new_device
from inspections.demo.diary import ENTRIES, Entry
from inspections.demo.plant import Group, Position, positions_of
from inspections.demo.work import (
    capacity_review,
    disc_change,
    in_place_test,
    lever_lift,
    look,
    maker_test,
    shop_visit,
)
from inspections.demo.world import World

Numbers = Iterator[int]
ONE_DAY = timedelta(days=1)


def by_diary(world: World, group: Group, numbers: Numbers) -> None:
    places = {position.tag: position for position in positions_of(group)}
    for entry in ENTRIES:
        if entry.tag in places:
            DO[entry.what](world, places[entry.tag], entry, numbers)


def fit_new(world: World, position: Position, number: int, on: date, tested_on: date) -> None:
    """A new device with its maker's certificate; a disc needs none."""
    device = new_device(number, position.group, tested_on)
    world.devices.append(device)
    if device.model.kind != "rupture_disc":
        maker_test(world, device, tested_on)
    world.fit(device, position, on)


def commission(world: World, group: Group, numbers: Numbers) -> None:
    """Every position on the day it entered service. A tank's valve was tested that very day."""
    for position in positions_of(group):
        on = plan.ENTERED.get(position.tag, group.start) or plan.BOUGHT_ON[position.tag]
        was_new = plan.ENTERED.get(position.tag) is not None
        tested_on = on if was_new else on - timedelta(days=45)
        fit_new(world, position, next(numbers), on, tested_on)
        if group.model == "DF-7":
            disc_change(world, position, world.fitted(position, on), on)


def _overhaul(world: World, position: Position, entry: Entry, _: Numbers) -> None:
    device = world.pull(position, entry.on)
    done_on = entry.on + ONE_DAY
    shop_visit(world, device, done_on, tag=position.tag, found=entry.found)
    world.fit(device, position, done_on + ONE_DAY)


def _in_place(world: World, position: Position, entry: Entry, _: Numbers) -> None:
    in_place_test(world, position, entry.on, found=entry.found)


def _assisted(world: World, position: Position, entry: Entry, _: Numbers) -> None:
    in_place_test(world, position, entry.on, assisted=True, found=entry.found)


def _lever(world: World, position: Position, entry: Entry, _: Numbers) -> None:
    lever_lift(world, position, entry.on)


def _look(world: World, position: Position, entry: Entry, _: Numbers) -> None:
    look(world, position, entry.on)


def _disc(world: World, position: Position, entry: Entry, numbers: Numbers) -> None:
    """The burst one out and scrapped, a new one in."""
    world.pull(position, entry.on).status = "scrapped"
    fit_new(world, position, next(numbers), entry.on, entry.on - timedelta(days=90))
    disc_change(world, position, world.fitted(position, entry.on), entry.on)


def _review(world: World, position: Position, entry: Entry, _: Numbers) -> None:
    capacity_review(world, position, entry.on)


DO: dict[str, Callable[[World, Position, Entry, Numbers], None]] = {
    "overhaul": _overhaul,
    "in_place": _in_place,
    "assisted": _assisted,
    "lever": _lever,
    "look": _look,
    "disc": _disc,
    "review": _review,
}
