"""A plan in force beside what has happened since: done, moved, dropped, and what is new."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any

from django.db.models import Case, Count, Exists, F, Min, OuterRef, Q, QuerySet, Sum, When

from fleet import clock
from fleet.models import AuditHead, DueLine, Outage, Plan, PlannedJob, SpanState
from fleet.reports.plan_reasons import hours_words
from fleet.reports.plan_slots import offered

DONE, MOVED, DROPPED, OPEN = "done", "moved", "dropped", "open"
OWED = (SpanState.DATED, SpanState.NO_RECORD)
SHOWN = 50  # of what is new; the rest is counted
LINE = "obligation__line"


@dataclass(frozen=True)
class Since:
    """How a plan stands today. new: the first lines that it does not know, new_count: all.
    outages: those that are not as the plan took them to be, in words."""

    done: int
    moved: int
    dropped: int
    new_count: int
    new: Sequence[DueLine]
    outages: Sequence[str]

    @property
    def is_stale(self) -> bool:
        return bool(self.new_count or self.moved or self.dropped or self.outages)


def since(plan: Plan) -> Since:
    """Six queries over all lines of a plan, asked again only once something was written since:
    whatever moves a line is on the audit chain, or is the day itself."""
    head = AuditHead.objects.first()
    if head is None or not plan.digest:
        return _since(plan)
    return _kept(plan.pk, plan.digest, head.digest, clock.today())


@lru_cache(maxsize=64)
def _kept(pk: int, digest: str, head: str, today: date) -> Since:
    return _since(Plan.objects.get(pk=pk))


def _since(plan: Plan) -> Since:
    states = _states(plan)
    counts = {name: Count("pk", filter=condition) for name, condition in states.items()}
    said = plan.jobs.aggregate(**counts)
    new = _new(plan)
    first = new.select_related("unit").order_by("order_on", "tag")[:SHOWN]
    outages = list(_outages(plan, plan.jobs.exclude(states[DONE]).exclude(outage=None)))
    return Since(said[DONE], said[MOVED], said[DROPPED], new.count(), list(first), outages)


def with_done_on(jobs: QuerySet[PlannedJob]) -> QuerySet[Any]:
    """Lines with the day their work was done, as `done_on`; None where it is still to do."""
    done = Case(When(_done(F("plan__from_on")), then=F(f"{LINE}__span__event__done_on")))
    return jobs.annotate(done_on=done)


def _done(from_on: date | F) -> Q:
    """Work was counted on a day of the plan, and what was planned for is not owed any more. What
    was counted on its first day before it was worked out leaves its date standing."""
    counted = Q(**{f"{LINE}__span__event__done_on__gte": from_on})
    return counted & ~_same("due_on", "due_on")


def _states(plan: Plan) -> dict[str, Q]:
    """A line is moved where its date, its leave or its unit is another one now, and dropped where
    nothing is owed there any more."""
    done = _done(plan.from_on)
    owed = Q(**{f"{LINE}__state__in": OWED})
    same = _same("due_on", "due_on") & _same("deferred_until", "deferred_until")
    same &= _same("unit", "unit")
    return {DONE: done, DROPPED: ~done & ~owed, MOVED: ~done & owed & ~same}


def _same(now: str, then: str) -> Q:
    both_empty = Q(**{f"{LINE}__{now}__isnull": True, f"{then}__isnull": True})
    return both_empty | Q(**{f"{LINE}__{now}": F(then), f"{then}__isnull": False})


def _new(plan: Plan) -> QuerySet[DueLine]:
    """Lines that fall into the plan's days and stand in none of its rows."""
    known = PlannedJob.objects.filter(plan=plan, obligation=OuterRef("obligation"))
    due = Q(state=SpanState.DATED, due_on__lte=plan.to_on) | Q(state=SpanState.NO_RECORD)
    lines = DueLine.objects.filter(due, site=plan.site_id, obligation__isnull=False)
    return lines.exclude(Exists(known))


def _outages(plan: Plan, open_jobs: QuerySet[PlannedJob]) -> Iterator[str]:
    """Which outages with work still to do serve nothing now, begin on another day, or offer less
    than is needed of them."""
    days = dict(open_jobs.values_list("outage").annotate(Min("planned_on")))
    needed = dict(open_jobs.values_list("outage").annotate(Sum("hours")))
    for outage in Outage.objects.filter(pk__in=days).order_by("starts_on", "pk"):
        if outage.status in (Outage.Status.DRAFT, Outage.Status.CANCELLED):
            yield f"{outage} is {outage.get_status_display()}: it serves nothing now"
        elif days[outage.pk] != max(outage.starts_on, plan.from_on):
            yield f"{outage} begins on {outage.starts_on} now"
        hours, room = needed[outage.pk] or Decimal(), offered(outage)
        if room is not None and hours > room:
            said = f"{hours_words(room)} now, and the plan needs {hours_words(hours)}"
            yield f"{outage} offers {said}"
