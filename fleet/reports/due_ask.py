"""What a reader asks of the due list, as conditions on its lines."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import reduce
from operator import or_

from django.db.models import Case, DateField, Q, QuerySet, Value, When

from fleet.calc.units import parse_duration
from fleet.models import Device, Obligation, Outage, Position, SpanState
from fleet.replays import sampled_with
from fleet.reports.chances import NEEDS_OUTAGE, Chances
from fleet.reports.proposals import with_proposal
from fleet.stamps import LAST

NO_OPPORTUNITY = "no_opportunity"
OPEN_ENDED = parse_duration("P2Y")
DATED_STATUSES = ("overdue_deferred", "overdue", "due_soon", "compliant")
STATUSES = (
    "overdue",
    "overdue_deferred",
    "no_record",
    "no_device",
    "no_obligation",
    "interval_not_set",
    "due_soon",
    "compliant",
    "not_required",
)


@dataclass(frozen=True)
class Ask:
    """What is wanted of the list; empty means any.

    until: the horizon. It never hides what is overdue or cannot be dated. proposal: "open" for
    lines that show an open one. group: an obligation, for all that are sampled with it.
    """

    site: int | None = None
    unit: int | None = None
    activity: str = ""
    status: str = ""
    until: date | None = None
    outage: int | None = None
    fluid: str = ""
    kind: str = ""
    proposal: str = ""
    group: int | None = None
    find: str = ""


@dataclass(frozen=True)
class Seen:
    """From where the list is looked at: the day, what counts as soon, and up to when facts were
    known (None = now)."""

    as_of: date
    soon_days: int
    chances: Chances
    known_at: datetime | None = None

    @property
    def soon_until(self) -> date:
        return self.as_of + timedelta(days=self.soon_days)


def status_of(state: str, due_on: date | None, until: date | None, seen: Seen) -> str:
    """The first status that applies. Only a dated state asks the calendar; what nothing has
    called for yet complies, without a date."""
    if state == SpanState.WAITING:
        return "compliant"
    if state != SpanState.DATED or due_on is None:
        return state
    if due_on < seen.as_of:
        is_deferred = until is not None and until >= seen.as_of
        return "overdue_deferred" if is_deferred else "overdue"
    return "due_soon" if due_on <= seen.soon_until else "compliant"


def with_status(status: str, seen: Seen) -> Q:
    """The same as `status_of`, asked of the database; and `no_opportunity`."""
    day = seen.as_of
    dated = Q(line_state=SpanState.DATED)
    deferred = Q(line_until__isnull=False, line_until__gte=day)
    conditions = {
        "overdue": dated & Q(line_due_on__lt=day) & ~deferred,
        "overdue_deferred": dated & Q(line_due_on__lt=day) & deferred,
        "due_soon": dated & Q(line_due_on__gte=day, line_due_on__lte=seen.soon_until),
        "compliant": dated & Q(line_due_on__gt=seen.soon_until) | Q(line_state=SpanState.WAITING),
        NO_OPPORTUNITY: no_opportunity(seen),
    }
    return conditions.get(status, Q(line_state=status))


def no_opportunity(seen: Seen) -> Q:
    """Still to come, and no outage of its unit begins on or before its due date."""
    to_come = Q(
        line_state=SpanState.DATED, line_due_on__gte=seen.as_of, line_activity__in=NEEDS_OUTAGE
    )
    served = [
        Q(line_unit=unit, line_due_on__gte=chances[0].starts_on)
        for unit, chances in seen.chances.by_unit.items()
    ]
    return to_come & ~reduce(or_, served) if served else to_come


def scope_until(outage: Outage) -> date:
    """How far an outage answers where no later one of the unit is planned; shown, and asked."""
    return OPEN_ENDED.after(outage.starts_on)


def in_scope_of(outage: Outage, seen: Seen, until: date | None = None) -> Q:
    """Lines for which this is the last outage before the due date, and those already late.

    Where no earlier outage serves a line, it is in scope although it will be late by then. Where
    no later one is planned, lines due up to `until` are (`scope_until`, unless given).
    """
    until = until or scope_until(outage)
    parts = [_scope_in(unit.pk, outage, seen, until) for unit in outage.units.all()]
    return reduce(or_, parts) if parts else Q(line_position=None)


def _scope_in(unit: int, outage: Outage, seen: Seen, until: date) -> Q:
    earlier, later = seen.chances.around(unit, outage.pk, outage.starts_on)
    scope = Q(line_state=SpanState.DATED)
    if later:
        scope &= Q(line_due_on__lt=later[0].starts_on)
    else:
        scope &= Q(line_due_on__lte=until)
    if earlier:  # what is late already, or due before this one, is the business of those
        return Q(line_unit=unit, line_due_on__gte=outage.starts_on) & scope
    return Q(line_unit=unit) & (scope | Q(line_state=SpanState.NO_RECORD))


def asked(part: QuerySet, ask: Ask, seen: Seen, *, any_status: bool = False) -> QuerySet:
    """A source of lines narrowed to what is asked; `any_status` leaves the status open."""
    conditions = Q()
    if ask.site:
        conditions &= Q(line_site=ask.site)
    if ask.unit:
        conditions &= Q(line_unit=ask.unit)
    if ask.activity:
        conditions &= Q(line_activity=ask.activity)
    if ask.until:
        conditions &= Q(line_order_on__lte=ask.until)
    if ask.status and not any_status:
        conditions &= with_status(ask.status, seen)
    if ask.outage:
        conditions &= in_scope_of(Outage.objects.get(pk=ask.outage), seen)
    if ask.kind:
        conditions &= Q(line_device__in=Device.objects.filter(kind=ask.kind).values("pk"))
    if ask.fluid:
        places = Position.objects.filter(fluid__icontains=ask.fluid)
        conditions &= Q(line_position__in=places.values("pk"))
    if ask.proposal:
        conditions &= with_proposal(seen.as_of, seen.known_at)
    if ask.group:
        owed = Obligation.objects.select_related("rule", "position").get(pk=ask.group)
        conditions &= Q(line_obligation__in=sampled_with(owed).values("pk"))
    if ask.find:
        named = Device.objects.filter(Q(number__icontains=ask.find) | Q(serial__icontains=ask.find))
        conditions &= Q(line_tag__icontains=ask.find) | Q(line_device__in=named.values("pk"))
    return part.filter(conditions)


def key_for(sort: str, seen: Seen) -> Case:
    """What `last_outage` and `next_outage` are sorted by: the day that outage begins."""
    whens = []
    for unit, chances in seen.chances.by_unit.items():
        if sort == "next_outage":
            whens.append(When(line_unit=unit, then=Value(chances[0].starts_on)))
            continue
        for chance in reversed(chances):
            serves = Q(line_unit=unit, line_due_on__gte=chance.starts_on)
            whens.append(When(serves, then=Value(chance.starts_on)))
    return Case(*whens, default=Value(LAST), output_field=DateField())
