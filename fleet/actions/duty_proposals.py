"""What a duty that changes from a day gives cause for: the interval was chosen for another one."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date

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
    history = _history(duties)
    return [
        proposal
        for duty in duties
        for proposal in _of(duty, _before(duty, history[duty.position_id]), filled_in)
    ]


def _history(duties: Sequence[PositionDuty]) -> Duties:
    places, found = sorted({duty.position_id for duty in duties}), defaultdict(list)
    for start in range(0, len(places), BATCH):
        for duty in PositionDuty.objects.filter(position__in=places[start : start + BATCH]):
            found[duty.position_id].append(duty)
    return found


def _before(duty: PositionDuty, history: Sequence[PositionDuty]) -> PositionDuty | None:
    earlier = [d for d in history if (d.from_on or date.min) < (duty.from_on or date.min)]
    return max(earlier, key=lambda d: d.from_on or date.min, default=None)


def _of(duty: PositionDuty, before: PositionDuty | None, filled_in: bool) -> Iterator[Proposal]:
    if before is None or duty.from_on is None:
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
