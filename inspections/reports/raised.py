"""The flags that are facts of one series of a device, judged as its site and its model say."""

from collections.abc import Iterator
from dataclasses import replace

from fleet.models import Site
from inspections.calc.flags import Flag, Looking, flags_of
from inspections.calc.movements import Series
from inspections.calc.plausibility import Spring, screw_flag
from inspections.calc.visits import SET_PRESSURE
from inspections.models import SettingPoint
from inspections.reports.histories import DeviceHistory

SCREW = "compression_screw"


def flags_in(history: DeviceHistory, one: Series, looking: Looking) -> Iterator[Flag]:
    """The flags of one series, the screw's against its pops among them."""
    screw = _screw_flag(history, one, looking)
    for flag in flags_of(one, looking):
        if screw is not None and flag.code == screw.code:
            yield Flag(flag.code, flag.reasons + screw.reasons)
            screw = None
        else:
            yield flag
    if screw is not None:
        yield screw


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
