"""The flags that are facts of one series of a device, judged as its site and its model say."""

from collections.abc import Iterator
from dataclasses import replace

from fleet.models import Site
from inspections.calc.crosscheck import Thread
from inspections.calc.flags import IMPLAUSIBLE, Flag, Looking, flags_of
from inspections.calc.movements import Series
from inspections.calc.naming import checked_by
from inspections.calc.plausibility import Spring, height_flag, screw_flag
from inspections.calc.visits import SET_PRESSURE
from inspections.models import SettingPoint
from inspections.reports.histories import DeviceHistory

SCREW = "compression_screw"


def flags_in(history: DeviceHistory, one: Series, looking: Looking) -> Iterator[Flag]:
    """The flags of one series; the screw's against its pops, a count's against its height too."""
    beside = (_screw_flag(history, one, looking), _height_flag(history, one, looking))
    more = tuple(reason for flag in beside if flag for reason in flag.reasons)
    for flag in flags_of(one, looking):
        if more and flag.code == IMPLAUSIBLE:
            yield Flag(IMPLAUSIBLE, flag.reasons + more)
            more = ()
        else:
            yield flag
    if more:
        yield Flag(IMPLAUSIBLE, more)


def looking_at(setting: str, point: SettingPoint | None, site: Site | None) -> Looking:
    """A pop is always missed when it is not there; a setting when its model says so."""
    looking = Looking(site.review_overhauls, site.review_resets) if site else Looking()
    if setting == SET_PRESSURE:
        return replace(looking, required=True)
    if point is None:
        return looking
    return replace(
        looking, resolution=point.resolution, positive=point.positive, required=point.required
    )


def _screw_flag(history: DeviceHistory, one: Series, looking: Looking) -> Flag | None:
    device, pressure = history.device, history.series.get(SET_PRESSURE)
    rate, lead, seat = device.spring_rate, device.screw_lead, device.seat_diameter
    if one.setting != SCREW or pressure is None or rate is None or lead is None or seat is None:
        return None
    return screw_flag(one, pressure, Spring(rate, lead, seat), looking)


def _height_flag(history: DeviceHistory, one: Series, looking: Looking) -> Flag | None:
    """Where the model says how its thread advances, and the height was measured too."""
    point = history.points.get(one.setting)
    height = history.points.get(checked_by(one.setting))
    measured = history.series.get(checked_by(one.setting))
    if point is None or point.lead is None or height is None or measured is None:
        return None
    beside = replace(looking, resolution=height.resolution, positive=height.positive)
    thread = Thread(point.lead, point.notches_per_turn)
    return height_flag(one, measured, thread, looking, beside)
