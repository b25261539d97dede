"""Ten years of the works: commissioning, then each group through its programme or its diary."""

from collections.abc import Callable, Iterator
from datetime import date, timedelta

from inspections.demo import further, onstream, plan
from inspections.demo.calendar_of_work import Outage, of_unit
from inspections.demo.devices import Device, new_device
from inspections.demo.dice import Dice
from inspections.demo.obligations import is_looked_at
from inspections.demo.plant import AS_OF, COMMISSIONED, GROUPS, Group, Position, positions_of
from inspections.demo.work import disc_change, look, maker_test, shop_visit
from inspections.demo.world import World

FIRST_NUMBER = 1001
RETEST_BEFORE_USE = {"Esterification"}  # counts from done_on: spares are tested again first


def days(number: int) -> timedelta:
    return timedelta(days=number)


def live(world: World) -> None:
    numbers = iter(range(FIRST_NUMBER, 9999))
    for group in GROUPS:
        if group.programme == "diary":
            further.commission(world, group, numbers)
            further.by_diary(world, group, numbers)
            continue
        commission(world, group, numbers)
        PROGRAMMES[group.programme](world, group, numbers)
        if is_looked_at(group):
            walk_round(world, group)


def deliver(world: World, group: Group, number: int, by: date) -> Device:
    """A new device, tested at its maker's some weeks before `by`."""
    tested_on = by - days(Dice("delivery", number).whole(30, 90))
    device = new_device(number, group, tested_on)
    world.devices.append(device)
    if device.model.kind in ("rupture_disc", "vent"):
        device.ready_on = tested_on
    else:
        maker_test(world, device, tested_on)
    return device


def commission(world: World, group: Group, numbers: Iterator[int]) -> None:
    """A device into every position, then the spares onto the shelf."""
    start = COMMISSIONED[group.unit]
    for position in positions_of(group):
        device = deliver(world, group, next(numbers), start)
        on = start + days(Dice("commission", position.tag).whole(0, 12))
        world.fit(device, position, on)
        if group.programme == "disc":
            disc_change(world, position, device, on)
    for _ in range(group.spares):
        deliver(world, group, next(numbers), start + days(60))


def by_outage(world: World, group: Group, _numbers: Iterator[int]) -> None:
    """Every position in every outage of its unit; in the boiler house, every fourth year."""
    for outage in of_unit(group.unit):
        boiler_house = group.unit == "Steam and Air"
        if outage.is_done and (not boiler_house or outage.starts_on.year in (2020, 2024)):
            if group.unit in RETEST_BEFORE_USE:
                retest_spares(world, group, outage)
            rotate(world, group, outage)


def retest_spares(world: World, group: Group, outage: Outage) -> None:
    for device in world.spares(group):
        before = Dice("retest", device.number, outage.name).whole(20, 60)
        shop_visit(world, device, outage.starts_on - days(before), activity="bench_test")


def rotate(world: World, group: Group, outage: Outage) -> None:
    """Swap the group through its spares; what comes out goes to the shop and becomes one."""
    order = list(positions_of(group))
    dice = Dice("rotate", group.tags, outage.name)
    order.sort(key=lambda position: Dice("order", position.tag, outage.name).whole(0, 10**6))
    on = outage.starts_on + days(dice.whole(1, 2))
    for index, position in enumerate(order):
        spare = world.spares(group)[0]
        on = max(on + days(index % 2), spare.ready_on)
        if (position.tag, outage.name) in plan.SKIPPED:
            continue
        out = world.swap(position, spare, on)
        still_to_do = len(order) - index - 1
        hurry = len(world.spares(group)) <= still_to_do
        later = dice.whole(3, 6) if hurry else dice.whole(7, 42)
        to_shop(world, out, on + days(later), position)


def to_shop(world: World, device: Device, done_on: date, position: Position) -> None:
    """Overhauled with the tag it came from on its sheet; past the last day it is still there."""
    if done_on > AS_OF:
        device.status = "in_shop"
    else:
        shop_visit(world, device, done_on, tag=position.tag)


def walk_round(world: World, group: Group) -> None:
    """On-stream looks at the piping, never more than five years apart."""
    on = COMMISSIONED[group.unit] + days(Dice("walk", group.tags).whole(1200, 1500))
    while on < AS_OF:
        for index, position in enumerate(positions_of(group)):
            look(world, position, on + days(index % 3))
        on += days(Dice("walk", group.tags, on).whole(1250, 1600))


def discs(world: World, group: Group, numbers: Iterator[int]) -> None:
    """A new disc in every outage; the old one is scrap."""
    for outage in of_unit(group.unit):
        if not outage.is_done:
            continue
        for index, position in enumerate(positions_of(group)):
            on = outage.starts_on + days(3 + index)
            disc = deliver(world, group, next(numbers), on)
            world.swap(position, disc, on).status = "scrapped"
            disc_change(world, position, disc, on)


Programme = Callable[[World, Group, Iterator[int]], None]
PROGRAMMES: dict[str, Programme] = {
    "outage": by_outage,
    "pilot": by_outage,
    "disc": discs,
    "boiler": onstream.boilers,
    "highboiler": onstream.high_boilers,
    "header": onstream.headers,
    "air": onstream.air,
    "gas": onstream.gas,
    "onstream": onstream.every_four_years,
    "clean": onstream.once_in_ten_years,
    "changeover": onstream.changeovers,
    "vent": onstream.vents,
}
