"""A position's own history: what the devices fitted there read, one stay after the other.

A fixed number of queries, whatever the history; none where nothing was ever fitted. Which reading
tells of which stay is `inspections.calc.whereabouts`; the pictures are those of a device's page.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import NamedTuple

from django.db.models import QuerySet

from fleet.calc.duedates import Spell
from fleet.models import Device, Installation
from inspections.calc.movements import series
from inspections.calc.parts import PIN, RUPTURE_DISC
from inspections.calc.readings import datum_key
from inspections.calc.visits import SET_PRESSURE
from inspections.calc.whereabouts import belongings
from inspections.drawings.panels import Cut, Panel, Run
from inspections.models import SettingPoint
from inspections.reports.histories import DeviceHistory, histories
from inspections.reports.panels import Piece, panel_over
from inspections.reports.position_words import story_words

Address = Callable[[int], str]
OTHER_MODEL = (
    "Settings are not drawn: the devices are not of one model, and a notch of one is not a notch"
    " of another. Each device\u2019s own page draws them."
)
OTHER_DATUM = "is not drawn: it was not counted from one datum throughout."


@dataclass(frozen=True)
class PositionHistory:
    """`said`: what the position saw, in words; `undrawn`: settings that are not drawn, and why."""

    runs: Sequence[Run]
    panels: Sequence[Panel]
    said: str
    undrawn: Sequence[str]


@dataclass(frozen=True)
class _Stay:
    """One device's run in the position: its stays there with none elsewhere and nobody between."""

    device: Device
    spells: Sequence[Spell]
    run: Run
    next_on: date | None  # the day another came, or it came back from elsewhere


def history_of(
    fitted: Sequence[Installation], as_of: date, record: Address, device: Address
) -> PositionHistory | None:
    """Of the fittings of one position, as they stood that day; None where there are none.

    `record` and `device` answer the page of a record and of a device by primary key.
    """
    here = sorted((s for s in fitted if s.installed_on <= as_of), key=lambda s: s.installed_on)
    if not here:
        return None
    devices = Device.objects.filter(pk__in={spell.device_id for spell in here})
    moved = _spells(devices, as_of)
    stays = list(_stays(here, moved, device))
    told = {history.device.pk: history for history in histories(devices, as_of)}
    pieces = {name: list(_pieces(name, stays, told, moved, record)) for name in _settings(told)}
    drawn = {name: found for name, found in pieces.items() if found}
    undrawn = dict(_undrawn(drawn, stays))
    changes = [Cut(stay.run.from_on, f"{stay.run.device} fitted") for stay in stays[1:]]
    return PositionHistory(
        runs=[stay.run for stay in stays],
        panels=[
            panel_over(found, name, _point(name, stays, told), changes)
            for name, found in drawn.items()
            if name not in undrawn
        ],
        said=_said(stays, pieces.get(SET_PRESSURE, ()), as_of),
        undrawn=list(dict.fromkeys(undrawn.values())),
    )


def _said(stays: Sequence[_Stay], pops: Sequence[Piece], as_of: date) -> str:
    return story_words(
        [stay.run for stay in stays],
        [visit for piece in pops for visit in piece.one.overhauls],
        as_of,
        may_pop=any(stay.device.kind not in (RUPTURE_DISC, PIN) for stay in stays),
    )


def _spells(devices: QuerySet[Device], as_of: date) -> Mapping[int, list[Spell]]:
    """Every stay of these devices anywhere, begun by that day, in the order they began."""
    rows = Installation.objects.filter(device__in=devices, installed_on__lte=as_of)
    rows = rows.order_by("device", "installed_on", "pk")
    spells = [Spell(*row) for row in rows.values_list(*Spell._fields)]
    return {pk: list(own) for pk, own in groupby(spells, lambda spell: spell.device)}


def _stays(
    here: Sequence[Installation], moved: Mapping[int, Sequence[Spell]], address: Address
) -> Iterator[_Stay]:
    groups: list[list[Installation]] = []
    for spell in here:
        if groups and _goes_on(groups[-1][-1], spell, moved):
            groups[-1].append(spell)
        else:
            groups.append([spell])
    starts = [group[0].installed_on for group in groups]
    for group, next_on in zip(groups, [*starts[1:], None], strict=True):
        device, last = group[0].device, group[-1]
        run = Run(str(device), address(device.pk), group[0].installed_on, last.removed_on)
        spells = [Spell(s.device_id, s.position_id, s.installed_on, s.removed_on) for s in group]
        yield _Stay(device, spells, run, next_on)


def _goes_on(
    before: Installation, after: Installation, moved: Mapping[int, Sequence[Spell]]
) -> bool:
    """The same device again, which served nowhere else meanwhile."""
    if before.device_id != after.device_id:
        return False
    return not any(
        before.installed_on < spell.installed_on < after.installed_on
        for spell in moved[before.device_id]
    )


def _settings(told: Mapping[int, DeviceHistory]) -> list[str]:
    """Every setting any of them ever read, set pressure first, then in the order of the models."""
    return list(dict.fromkeys(name for history in told.values() for name in history.series))


def _pieces(
    name: str,
    stays: Sequence[_Stay],
    told: Mapping[int, DeviceHistory],
    moved: Mapping[int, Sequence[Spell]],
    record: Address,
) -> Iterator[Piece]:
    for stay in stays:
        history = told.get(stay.device.pk)
        if history is None or name not in history.series:
            continue
        owned = belongings(history.series[name].overhauls, moved[stay.device.pk])
        visits = [visit for own in owned if (visit := own.within(stay.spells))]
        if visits:
            one = series(name, visits)
            yield Piece(one, _address(history, record), stay.run, stay.next_on)


def _address(history: DeviceHistory, record: Address) -> Callable[[str], str]:
    return lambda ref: record(history.records[ref])


def _point(
    name: str, stays: Sequence[_Stay], told: Mapping[int, DeviceHistory]
) -> SettingPoint | None:
    """Settings are drawn across one model only, so whose device is asked does not matter."""
    points = (told[stay.device.pk].points for stay in stays if stay.device.pk in told)
    return next((found[name] for found in points if name in found), None)


def _undrawn(
    pieces: Mapping[str, Sequence[Piece]], stays: Sequence[_Stay]
) -> Iterator[tuple[str, str]]:
    """Settings that cannot stand on one scale, and why."""
    models = {stay.device.model_id or f"unknown, of {stay.device.pk}" for stay in stays}
    for name, found in pieces.items():
        if name == SET_PRESSURE:
            continue
        if len(models) > 1:
            yield name, OTHER_MODEL
        elif len(scales := set(_scales(found))) > 1 or any(not scale.datum for scale in scales):
            yield name, f"{name.replace('_', ' ').capitalize()} {OTHER_DATUM}"


class _Scale(NamedTuple):
    dimension: str
    datum: tuple[str, ...]


def _scales(pieces: Sequence[Piece]) -> Iterator[_Scale]:
    for visit in (visit for piece in pieces for visit in piece.one.overhauls):
        for reading in (visit.as_found, visit.as_left):
            if reading is not None:
                datum = datum_key(reading.datum) if reading.datum.strip() else ()
                yield _Scale(reading.quantity.dimension, datum)
