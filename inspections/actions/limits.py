"""The limits of a model's parts: written, changed and taken away by an engineer."""

from datetime import datetime

from fleet import audit
from fleet.calc.units import Quantity, UnitsError, parse_quantity
from fleet.faults import Fault, Refused
from fleet.models import User
from inspections.calc.limits import LIMITED, key_of
from inspections.models import PartLimit


@audit.writing()
def save_limit(limit: PartLimit, *, by: User, at: datetime) -> PartLimit:
    """Write one limit, new or changed. Raises Refused with everything that is wrong with it."""
    faults = problems(limit)
    if faults:
        raise Refused(faults)
    limit.save()
    audit.record([audit.change("part limit saved", limit)], by=by, at=at)
    return limit


@audit.writing()
def remove_limit(limit: PartLimit, *, by: User, at: datetime) -> None:
    """Take a limit away; figures written down stay, and are then held against none."""
    gone = PartLimit.objects.get(pk=limit.pk)
    limit.delete()
    change = audit.Change("part limit removed", f"partlimit:{gone.pk}", (), _gone(gone))
    audit.record([change], by=by, at=at)


def _gone(limit: PartLimit) -> dict[str, list]:
    return {limit._meta.db_table: [limit.pk]}


def problems(limit: PartLimit) -> list[Fault]:
    faults = [
        Fault(name, "", f"the {name} it is about" if name != "source" else "who says so, and where")
        for name in ("part", "measure", "source")
        if not getattr(limit, name).strip()
    ]
    if not limit.low and not limit.high:
        faults.append(Fault("low", "", "at least one end: a low or a high limit"))
    faults += _unreadable(limit)
    key = key_of(limit.part, limit.measure)
    for other in PartLimit.objects.filter(model=limit.model_id).exclude(pk=limit.pk):
        if key_of(other.part, other.measure) == key:
            faults.append(Fault("measure", limit.measure, f"one limit for it; {other} is there"))
    return faults


def _unreadable(limit: PartLimit) -> list[Fault]:
    """What cannot be read in the two ends, or does not go together."""
    ends: list[Quantity] = []
    for name in ("low", "high"):
        typed = getattr(limit, name)
        try:
            ends += [parse_quantity(typed, LIMITED)] if typed else []
        except UnitsError as error:
            return [Fault(name, error.typed, error.expected)]
    if len(ends) < 2:
        return []
    low, high = ends
    try:
        upside_down = low.to(high.unit).magnitude > high.magnitude
    except UnitsError as error:
        words = f"the same kind of unit as the low end: {error.expected}"
        return [Fault("high", limit.high, words)]
    return [Fault("high", limit.high, f"not below the low end, {low}")] if upside_down else []
