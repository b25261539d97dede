"""What is no longer as a proposal took it to be."""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

from fleet.models import HandPlacing, Outage, PlannedJob
from fleet.reports.chances import NEEDS_OUTAGE
from fleet.reports.due_lines import Line
from fleet.reports.plan_slots import offered
from fleet.reports.plan_work import Work


def differences(jobs: Sequence[PlannedJob], work: Work) -> list[str]:
    """Why a proposal no longer fits its facts, in words; empty where it does."""
    lines = {line.obligation: line for line in _lines(work)}
    planned = {job.obligation_id: job for job in jobs}
    added = lines.keys() - planned.keys()
    gone = planned.keys() - lines.keys()
    moved = [
        pk for pk in lines.keys() & planned.keys() if _dates(lines[pk]) != _dates_of(planned[pk])
    ]
    shifted = [pk for pk in lines.keys() & planned.keys() if lines[pk].unit != planned[pk].unit_id]
    found = [
        _counted(len(added), "line has come into its days", "lines have come into its days"),
        _counted(len(gone), "line is owed no longer", "lines are owed no longer"),
        _counted(len(moved), "due date has moved", "due dates have moved"),
        _counted(len(shifted), "line stands in another unit now", "lines stand in other units now"),
        *_of_outages(jobs, work),
        *_not_as_pinned(jobs, work),
    ]
    return [words for words in found if words]


def _lines(work: Work) -> Iterable[Line]:
    yield from (line for lines in work.visits.values() for line in lines)
    yield from work.in_place


def _dates(line: Line) -> tuple[date | None, date | None]:
    return line.due_on, line.until


def _dates_of(job: PlannedJob) -> tuple[date | None, date | None]:
    return job.due_on, job.deferred_until


def _counted(count: int, one: str, many: str) -> str:
    return f"{count} {one if count == 1 else many}" if count else ""


def _of_outages(jobs: Sequence[PlannedJob], work: Work) -> Iterable[str]:
    names = dict(Outage.objects.filter(site=work.site).values_list("pk", "name"))
    for pk in sorted({job.outage_id for job in jobs if job.outage_id}):
        here = [job for job in jobs if job.outage_id == pk]
        if pk not in work.outages:
            yield f"{names[pk]} serves nothing now"
            continue
        yield from _kept_out(here, work.outages[pk], work)
        if any(job.planned_on != work.day_of(pk) for job in here):
            yield f"{names[pk]} begins on {work.outages[pk].starts_on} now"
        hours, room = sum((job.hours or Decimal() for job in here), Decimal()), work.outages[pk]
        if (limit := offered(room)) is not None and hours > limit:
            yield f"{names[pk]} offers only {limit.normalize():f} bench hours now"


def _kept_out(here: Sequence[PlannedJob], outage: Outage, work: Work) -> Iterable[str]:
    """Who has been barred from the outage since, or was not in its scope when it froze."""
    whys = {job.position_id: work.hand.why_barred(job.position_id, outage) for job in here}
    for why in sorted({why for why in whys.values() if why}):
        count = sum(why == one for one in whys.values())
        places = "position it would take" if count == 1 else "positions it would take"
        yield f"{outage.name} is closed to {count} {places}: {why}"


def _not_as_pinned(jobs: Sequence[PlannedJob], work: Work) -> Iterable[str]:
    """Where a position was pinned to since, and nothing of it was put there."""
    asked = {job.position_id for job in jobs if job.activity in NEEDS_OUTAGE}
    placed = {(job.position_id, job.outage_id) for job in jobs}
    slots = {slot.id for slot in work.slots.every()}
    pins = [pin for pin in work.hand.placings if pin.kind == HandPlacing.Kind.PIN]
    for pin in pins:
        is_asked = pin.outage_id in slots and pin.position_id in asked
        if is_asked and (pin.position_id, pin.outage_id) not in placed:
            yield f"{pin.position.tag} is pinned to {pin.outage.name}"
