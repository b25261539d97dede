"""What the devices of a model can be set to: loaded, and set up by an engineer.

A point says how it is counted from now on. Records keep the datum they were read in, so a datum
that changes here changes none of them: across the change nothing is compared.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from fleet import audit
from fleet.calc.units import LENGTH, NOTCHES, Quantity
from fleet.faults import Fault, Refused
from fleet.models import User
from inspections.calc.naming import (
    BARE,
    plain,
    synonyms_of,
    why_not_a_name,
    why_not_beside,
    words_of,
)
from inspections.models import SettingPoint


@audit.writing()
def save_points(points: Sequence[SettingPoint], *, by: User, at: datetime) -> None:
    """Write setting points, new or changed."""
    for point in points:
        point.save()
    audit.record((audit.change("setting point saved", point) for point in points), by=by, at=at)


@audit.writing()
def set_up(point: SettingPoint, *, by: User, at: datetime) -> SettingPoint:
    """Write one point as an engineer says it is. Raises Refused with everything wrong with it."""
    others = list(SettingPoint.objects.filter(model=point.model_id).exclude(pk=point.pk))
    faults = [*_name(point, others), *_counted(point), *_limits(point), *_thread(point)]
    faults += _synonyms(point, others)
    if faults:
        raise Refused(faults)
    save_points([point], by=by, at=at)
    return point


def _name(point: SettingPoint, others: Sequence[SettingPoint]) -> Iterator[Fault]:
    setting, names = point.setting, [other.setting for other in others]
    if setting in BARE:
        words = (
            "which ring? A single ring, or a lower or an upper one;"
            f" “{words_of(setting)}” is then one of its other names"
        )
        yield Fault("setting", words_of(setting), words)
    elif words := why_not_a_name(setting) or why_not_beside(setting, names):
        yield Fault("setting", words_of(setting), words)
    elif setting in names:
        yield Fault("setting", words_of(setting), "a setting that this model does not have yet")


def _counted(point: SettingPoint) -> Iterator[Fault]:
    if not point.datum.strip():
        yield Fault("datum", "", "where it is counted from: a count without it says nothing")
    for name in ("resolution", "limit_low", "limit_high"):
        value: Quantity | None = getattr(point, name)
        if value is not None and value.dimension != point.measure:
            yield Fault(name, value.text, f"a value in {point.measure}, as this one is counted")
        elif value is not None and name == "resolution" and value.magnitude <= 0:
            yield Fault(name, value.text, "the smallest step that can be told: more than nothing")


def _limits(point: SettingPoint) -> Iterator[Fault]:
    low, high = point.limit_low, point.limit_high
    if (low is not None or high is not None) and not point.source.strip():
        yield Fault("source", "", "who says so, and where: a limit has a source")
    if low is None or high is None or low.dimension != high.dimension:
        return
    if low.to(high.unit).magnitude > high.magnitude:
        yield Fault("limit_high", high.text, f"not below the low end, {low}")


def _thread(point: SettingPoint) -> Iterator[Fault]:
    lead, notches = point.lead, point.notches_per_turn
    if lead is not None and lead.magnitude <= 0:
        yield Fault("lead", lead.text, "the advance of the thread in one turn: more than nothing")
    if lead is not None and point.measure == LENGTH:
        yield Fault("lead", lead.text, "nothing here: a length is not counted on a thread")
    if notches is not None and point.measure != NOTCHES:
        yield Fault("notches_per_turn", str(notches), "nothing here: it is not counted in notches")


def _synonyms(point: SettingPoint, others: Sequence[SettingPoint]) -> Iterator[Fault]:
    """A name means one setting of a model."""
    taken = {word: other for other in others for word in _names(other)}
    for word in synonyms_of(point.synonyms):
        if word in taken:
            words = f"names of its own; on this model that is the {words_of(taken[word].setting)}"
            yield Fault("synonyms", word, words)
    other = taken.get(plain(point.setting))
    if other is not None and other.setting != point.setting:
        words = f"another word: it is a name of the {words_of(other.setting)}"
        yield Fault("setting", words_of(point.setting), words)


def _names(point: SettingPoint) -> list[str]:
    return [plain(point.setting), *synonyms_of(point.synonyms)]
