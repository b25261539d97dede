"""What a duty that changes from a day gives cause for: the interval was chosen for another one."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import pairwise

from fleet.models import PositionDuty, Proposal

BATCH = 1000
PRESSURES = ("set_pressure", "vacuum_set")
SERVICE = ("fluid", "phase", "severity")
UNSAID = ("", None, PositionDuty.Phase.UNKNOWN)
Duties = dict[int, list[PositionDuty]]


def of_duties(duties: Sequence[PositionDuty], *, filled_in: bool = True) -> list[Proposal]:
    """Unsaved proposals of stored duties that begin on a day.

    filled_in: does a service said for the first time count as a new one? Where somebody dated it
    as a change it does; where the register is only being completed it does not.
    """
    history, keys = _history(duties), {duty.pk for duty in duties}
    return [
        proposal
        for here in history.values()
        for before, duty in pairwise(here)
        if duty.pk in keys
        for proposal in _of(before, duty, filled_in)
    ]


def _history(duties: Sequence[PositionDuty]) -> Duties:
    """Every duty of their positions as it is stored, in the order of their days."""
    places, found = sorted({duty.position_id for duty in duties}), defaultdict(list)
    for start in range(0, len(places), BATCH):
        rows = PositionDuty.objects.filter(position__in=places[start : start + BATCH])
        for duty in rows.select_related("position"):
            found[duty.position_id].append(duty)
    for here in found.values():
        here.sort(key=lambda duty: duty.from_on or date.min)
    return found


def _of(before: PositionDuty, duty: PositionDuty, filled_in: bool) -> Iterator[Proposal]:
    if duty.from_on is None:
        return
    changed = {
        Proposal.Kind.NEW_SET_PRESSURE: [n for n in PRESSURES if _differ(before, duty, n)],
        Proposal.Kind.NEW_SERVICE: [
            name
            for name in SERVICE
            if _differ(before, duty, name) and (filled_in or getattr(before, name) not in UNSAID)
        ],
    }
    moc = f" ({duty.moc})" if duty.moc else ""
    for kind, names in changed.items():
        if names:
            yield Proposal(
                position=duty.position,
                kind=kind,
                reason="; ".join(_change(before, duty, name) for name in names),
                source=f"duty from {duty.from_on}{moc}",
                raised_on=duty.from_on,
            )


def _differ(before: PositionDuty, duty: PositionDuty, name: str) -> bool:
    return getattr(before, name) != getattr(duty, name)


def _change(before: PositionDuty, duty: PositionDuty, name: str) -> str:
    return f"{name.replace('_', ' ')} {_said(before, name)} to {_said(duty, name)}"


def _said(duty: PositionDuty, name: str) -> str:
    value = getattr(duty, name)
    return "not given" if value in UNSAID else str(value).replace("_", " ")
