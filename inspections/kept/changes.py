"""Which devices something was written about, read off the audit chain.

The chain is a change feed here, never state: an entry's aggregate says where something changed,
and what is now is read from the tables. A kind of aggregate that is not listed means every device:
better all of them made again than one missed.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from fleet.models import AuditEntry, Device, Installation, PositionDuty
from inspections.models import Acknowledgement, Inspection, SettingPoint

BATCH = 1000


class _Every(Exception):
    """Nobody can say which devices; so all of them."""


@dataclass(frozen=True)
class Concerned:
    """`devices`: None = all of them. `is_any`: whether anything may look otherwise, so that the
    fleet has to be screened anew."""

    devices: frozenset[int] | None
    is_any: bool


def written_since(entry: int) -> Concerned:
    """Whom the entries after this one concern."""
    said = AuditEntry.objects.filter(number__gt=entry).order_by("aggregate")
    keys: dict[str, set[int]] = defaultdict(set)
    for aggregate in said.values_list("aggregate", flat=True).distinct():
        kind, _, pk = aggregate.partition(":")
        if kind not in NONE_OF_IT:
            keys[kind].add(int(pk) if pk.isdecimal() else 0)
    try:
        devices = {pk for kind, named in keys.items() for pk in _devices(kind, named)}
    except _Every:
        return Concerned(None, True)
    return Concerned(frozenset(devices), bool(keys))


def come_true_since(since: date, today: date) -> Concerned:
    """Whom the passing of days concerns: what was written down for a day that has come by now."""
    if today < since:
        return Concerned(None, True)
    days = (since, today)
    spells = Installation.objects.filter(_in(days, "installed_on") | _in(days, "removed_on"))
    duties = PositionDuty.objects.filter(_in(days, "from_on"))
    records = Inspection.objects.filter(_in(days, "done_on"))
    devices = {
        *spells.values_list("device", flat=True),
        *records.values_list("device", flat=True),
        *_fitted(Q(position__in=duties.values("position"))),
    }
    return Concerned(frozenset(devices), since != today)


def _in(days: tuple[date, date], name: str) -> Q:
    return Q(**{f"{name}__gt": days[0], f"{name}__lte": days[1]})


def _devices(kind: str, keys: set[int]) -> Iterable[int]:
    if kind not in CONCERN:
        raise _Every
    wanted = sorted(keys)
    for start in range(0, len(wanted), BATCH):
        yield from CONCERN[kind](wanted[start : start + BATCH])


def _fitted(where: Q) -> QuerySet:
    """Every device that was ever fitted there."""
    return Installation.everything.filter(where).values_list("device", flat=True).distinct()


def _of_inspections(keys: list[int]) -> Iterable[int]:
    """Of a correction also the device of the record it replaces."""
    for pair in Inspection.objects.filter(pk__in=keys).values_list("device", "corrects__device"):
        yield from (pk for pk in pair if pk)


def _of_spells(keys: list[int]) -> Iterable[int]:
    return _fitted(Q(pk__in=keys))


def _of_devices(keys: list[int]) -> Iterable[int]:
    return keys


def _of_positions(keys: list[int]) -> Iterable[int]:
    return _fitted(Q(position__in=keys))


def _of_sites(keys: list[int]) -> Iterable[int]:
    yield from Device.objects.filter(site__in=keys).values_list("pk", flat=True)
    yield from _fitted(Q(position__site__in=keys))


def _of_models(keys: list[int]) -> Iterable[int]:
    return Device.objects.filter(model__in=keys).values_list("pk", flat=True)


def _of_points(keys: list[int]) -> Iterable[int]:
    models = set(SettingPoint.objects.filter(pk__in=keys).values_list("model", flat=True))
    if SettingPoint.objects.filter(pk__in=keys).count() != len(keys):
        raise _Every  # one is gone, and with it whose it was
    return _of_models(sorted(models))


def _of_answers(keys: list[int]) -> Iterable[int]:
    return Acknowledgement.objects.filter(pk__in=keys).values_list("device", flat=True)


def _of_nobody(keys: list[int]) -> Iterable[int]:
    """An outage groups the first pops of its days: it concerns the screening alone."""
    return ()


CONCERN: dict[str, Callable[[list[int]], Iterable[int]]] = {
    "inspection": _of_inspections,
    "installation": _of_spells,
    "device": _of_devices,
    "position": _of_positions,
    "site": _of_sites,
    "devicemodel": _of_models,
    "settingpoint": _of_points,
    "acknowledgement": _of_answers,
    "outage": _of_nobody,
}
# Nothing the review reads: names of people, what is owed, when and in which outage, rules, leave,
# what is asked.
# A record's children are in the entries of their record, a duty in those of its position.
NONE_OF_IT = frozenset(
    {
        *("user", "membership", "unit", "equipment", "arrangement"),
        *("intervalrule", "toleranceband", "obligation", "intervaldecision", "deferral"),
        *("deferralrequest", "proposal", "serviceevent", "eventvoid", "trigger"),
        *("counterreading", "outofservice", "jobhours", "question", "instruction", "partlimit"),
        *("plan", "handplacing", "latescope", "feed"),
    }
)
