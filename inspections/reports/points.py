"""What a model can be set to, as its page shows it."""

from dataclasses import dataclass

from fleet.calc.units import Quantity
from fleet.models import DeviceModel
from inspections.calc.crosscheck import Thread, height_of
from inspections.calc.naming import EFFECTS, checks, words_of
from inspections.calc.readings import shown
from inspections.models import SettingPoint

UNITS = {"notches": "notches", "turns": "turns"}


@dataclass(frozen=True)
class PointRow:
    """One setting: the row, its name, what one step of it makes in height, what it checks."""

    point: SettingPoint
    words: str
    height: str
    checks: str
    effect: str


def points_of(model: DeviceModel) -> list[PointRow]:
    """One query."""
    rows = list(model.setting_points.order_by("pk"))
    names = {point.setting for point in rows}
    return [_row(point, names) for point in rows]


def _row(point: SettingPoint, names: set[str]) -> PointRow:
    counted = checks(point.setting)
    return PointRow(
        point,
        words_of(point.setting),
        _height(point),
        words_of(counted) if counted in names else "",
        EFFECTS.get(point.setting, ""),
    )


def _height(point: SettingPoint) -> str:
    unit = UNITS.get(point.measure)
    if unit is None or point.lead is None:
        return ""
    height = height_of(Quantity.of(1, unit), Thread(point.lead, point.notches_per_turn))
    return (
        f"{shown(height, 5)} a {unit.removesuffix('es') if unit == 'notches' else 'turn'}"
        if (height)
        else ""
    )
