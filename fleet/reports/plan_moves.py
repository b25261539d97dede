"""What moved between two plans, and why."""

from collections.abc import Iterable
from dataclasses import dataclass

from fleet.models import Plan, PlannedJob


@dataclass(frozen=True)
class Move:
    """One line that a plan places otherwise than the one in force. kind: new / gone / moved /
    freed (had a place) / won (has one now)."""

    kind: str
    before: PlannedJob | None
    after: PlannedJob | None
    why: str

    @property
    def job(self) -> PlannedJob:
        return self.after or self.before


def moves(before: Plan, after: Plan) -> list[Move]:
    """What differs between two plans, lost places first. Two queries."""
    old, new = ({job.obligation_id: job for job in _jobs(plan)} for plan in (before, after))
    found = [
        _move(old.get(pk), new.get(pk))
        for pk in old.keys() | new.keys()
        if _place(old.get(pk)) != _place(new.get(pk))
    ]
    return sorted(found, key=lambda move: (KINDS.index(move.kind), move.job.position.tag))


KINDS = ("freed", "moved", "new", "won", "gone")


def _jobs(plan: Plan) -> Iterable[PlannedJob]:
    return plan.jobs.select_related("position", "outage", "unit")


def _place(job: PlannedJob | None) -> tuple:
    if job is None:
        return ("",)
    return (job.status == PlannedJob.Status.NO_OPPORTUNITY, job.outage_id, job.planned_on)


def _move(before: PlannedJob | None, after: PlannedJob | None) -> Move:
    if before is None:
        return Move("new", None, after, after.reason if after else "")
    if after is None:
        return Move("gone", before, None, "not owed in these days any more")
    placed = (before.planned_on is not None, after.planned_on is not None)
    kind = {(True, False): "freed", (False, True): "won"}.get(placed, "moved")
    return Move(kind, before, after, _cause(before, after))


def _cause(before: PlannedJob, after: PlannedJob) -> str:
    """The fact that moved it, where one did, and the plan's own reason."""
    if before.due_on != after.due_on:
        days = f"from {before.due_on or 'none'} to {after.due_on or 'none'}"
        return f"its due date moved {days}; {after.reason}"
    if before.deferred_until != after.deferred_until:
        return f"its deferral runs until {after.deferred_until or 'no day'} now; {after.reason}"
    if before.outage_id and before.outage_id == after.outage_id:
        return f"{after.outage} begins on {after.planned_on} now; {after.reason}"
    return after.reason
