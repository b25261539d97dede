"""Programmes that need no outage, and the boiler house's yearly one."""

from collections.abc import Iterator
from datetime import date, timedelta

from inspections.demo import plan
from inspections.demo.calendar_of_work import of_unit
from inspections.demo.devices import Device
from inspections.demo.dice import Dice
from inspections.demo.plant import AS_OF, COMMISSIONED, Group, Position, positions_of
from inspections.demo.work import (
    capacity_review,
    in_place_test,
    lever_lift,
    look,
    shop_visit,
)
from inspections.demo.world import World

SPARE_TESTED = 30  # days: a spare is popped again before it goes onto steam


def days(number: int) -> timedelta:
    return timedelta(days=number)


def swap_for_spare(world: World, position: Position, spare: Device, on: date) -> None:
    """A spare in on the same day; what came out is overhauled one to six weeks later."""
    out = world.swap(position, spare, on)
    done_on = on + days(Dice("weeks", position.tag, on).whole(7, 42))
    if done_on > AS_OF:
        out.status = "in_shop"
    else:
        shop_visit(world, out, done_on, tag=position.tag)


def _every(world: World, group: Group, first: tuple[int, int], then: tuple[int, int]) -> None:
    """Swap each position after `first` days, then every `then` days, spares permitting."""
    due = []
    for position in positions_of(group):
        dice = Dice("every", position.tag)
        on = COMMISSIONED[group.unit] + days(dice.whole(*first))
        while on <= AS_OF:
            due.append((on, position))
            on += days(dice.whole(*then))
    for on, position in sorted(due, key=lambda pair: (pair[0], pair[1].tag)):
        spare = world.spares(group)[0]
        on = max(on, spare.ready_on)
        if on <= AS_OF and not plan.is_stopped(position.tag, on):
            swap_for_spare(world, position, spare, on)


def every_four_years(world: World, group: Group, _numbers: Iterator[int]) -> None:
    _every(world, group, (900, 1500), (1380, 1560))


def once_in_ten_years(world: World, group: Group, _numbers: Iterator[int]) -> None:
    _every(world, group, (1500, 3400), (2600, 3300))


def air(world: World, group: Group, _numbers: Iterator[int]) -> None:
    _every(world, group, (300, 900), (960, 1060))


def changeovers(world: World, group: Group, _numbers: Iterator[int]) -> None:
    _every(world, group, (700, 1300), (1250, 1450))


def boilers(world: World, group: Group, _numbers: Iterator[int]) -> None:
    """Own valve out, overhauled and back in each July; lifted by lever before and after."""
    for index, position in enumerate(positions_of(group)):
        for outage in of_unit(group.unit):
            if outage.is_done:
                on = outage.starts_on + days(1 + 3 * index)
                _own_valve(world, position, on)
                lever_in(world, position, on + days(Dice("lever", on, index).whole(140, 165)))
                lever_in(world, position, on + days(Dice("lever 2", on, index).whole(285, 305)))


def _own_valve(world: World, position: Position, on: date) -> None:
    device = world.pull(position, on)
    shop_visit(world, device, on + days(1), tag=position.tag)
    world.fit(device, position, on + days(2))


def lever_in(world: World, position: Position, on: date) -> None:
    if on <= AS_OF and not plan.is_stopped(position.tag, on):
        lever_lift(world, position, on)


def high_boilers(world: World, group: Group, _numbers: Iterator[int]) -> None:
    """Lift assisted on start-up every other year; through the shop every fourth."""
    for outage in of_unit(group.unit):
        if not outage.is_done or outage.starts_on.year % 2:
            continue
        for index, position in enumerate(positions_of(group)):
            if outage.starts_on.year % 4 == 0 and outage.starts_on.year > 2016:
                on = outage.starts_on + days(2)
                spare = world.spares(group)[0]
                on = max(on, spare.ready_on)
                out = world.swap(position, spare, on)
                shop_visit(world, out, on + days(4 + index), tag=position.tag)
            elif outage.starts_on.year > 2016:
                in_place_test(world, position, outage.ends_on - days(index), assisted=True)


def headers(world: World, group: Group, _numbers: Iterator[int]) -> None:
    """Popped in place every year under steam, lifted by lever between; swapped every few years."""
    for position in positions_of(group):
        dice = Dice("header", position.tag)
        on = COMMISSIONED[group.unit] + days(dice.whole(40, 280))
        while on <= AS_OF and not plan.is_stopped(position.tag, on):
            rested = [d for d in world.spares(group) if d.ready_on <= on - days(SPARE_TESTED)]
            if dice.chance(18) and rested:
                shop_visit(world, rested[0], on - days(SPARE_TESTED - 9), activity="bench_test")
                swap_for_spare(world, position, rested[0], on)
            else:
                in_place_test(world, position, on)
            if group.model == "BV-900":
                lever_in(world, position, on + days(dice.whole(165, 178)))
            on += days(dice.whole(335, 345))


def gas(world: World, group: Group, _numbers: Iterator[int]) -> None:
    """Every calendar year, each position in its own month; capacity reviewed every spring."""
    for index, position in enumerate(positions_of(group)):
        month = (4, 6, 9, 11)[index % 4]
        for year in range(2016, AS_OF.year + 1):
            dice = Dice("gas", position.tag, year)
            tested, reviewed = (date(year, m, dice.whole(2, 26)) for m in (month, 3))
            if COMMISSIONED[group.unit] < tested <= AS_OF:
                in_place_test(world, position, tested)
            if COMMISSIONED[group.unit] + days(90) < reviewed <= AS_OF:
                capacity_review(world, position, reviewed)


def vents(world: World, group: Group, _numbers: Iterator[int]) -> None:
    for position in positions_of(group):
        dice = Dice("vent", position.tag)
        on = COMMISSIONED[group.unit] + days(dice.whole(150, 350))
        while on <= AS_OF:
            look(world, position, on)
            on += days(dice.whole(320, 358))
