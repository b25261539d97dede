"""A setting read by two methods in one job, counted and measured: do both tell of one move?"""

from collections.abc import Iterable, Mapping

from inspections.calc.crosscheck import Method, Thread, mismatch
from inspections.calc.naming import checked_by
from inspections.calc.readings import SettingValue
from inspections.models import SettingPoint, SettingReading, Stage

Read = dict[tuple[str, str], SettingReading]


def doubts(
    points: Mapping[str, SettingPoint], readings: Iterable[SettingReading]
) -> dict[str, str]:
    """{counted setting: why its height disagrees}, for settings whose thread is known.

    From as found to as left; where one of the four readings is missing nothing is asked.
    """
    read = {(reading.setting, reading.stage): reading for reading in readings}
    found = {}
    for setting, point in points.items():
        height = points.get(checked_by(setting))
        if height is None or point.lead is None:
            continue
        thread = Thread(point.lead, point.notches_per_turn)
        words = mismatch(_method(point, read), _method(height, read), thread)
        if words:
            found[setting] = words
    return found


def _method(point: SettingPoint, read: Read) -> Method:
    before, after = (_value(point, read.get((point.setting, stage))) for stage in Stage.values)
    return Method(before, after, point.positive, point.resolution)


def _value(point: SettingPoint, reading: SettingReading | None) -> SettingValue:
    if reading is None or reading.value is None:
        return SettingValue(None, "", point.measure)
    return SettingValue(reading.value, reading.datum or point.datum, reading.value.dimension)
