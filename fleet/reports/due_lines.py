"""Which lines a due list has, seen from a day, before anything is said about them.

Today's lines are stamped (`DueLine`) and read from an index. Those of any other day are the spans
that held on it, and the positions of which none did. Every source answers the same columns,
`line_` and the names of `Line`, so one set of conditions and one order serve them all.
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from django.db.models import (
    BigIntegerField,
    Case,
    CharField,
    DateField,
    Exists,
    F,
    Field,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.functions import Cast, Coalesce

from fleet import clock
from fleet.models import (
    Deferral,
    DueLine,
    Installation,
    ObligationSpan,
    OutOfService,
    Position,
    PositionDuty,
    SpanState,
    User,
)
from fleet.stamps import FIRST, LAST, OWES_NOTHING


class Line(NamedTuple):
    """One line of the list: ids to look up, and what it is filtered and sorted by."""

    position: int
    obligation: int | None
    span: int | None
    device: int | None
    site: int
    unit: int
    tag: str
    activity: str
    state: str
    due_on: date | None
    until: date | None  # deferred until
    order_on: date


COLUMNS = [f"line_{name}" for name in Line._fields]


@dataclass(frozen=True)
class View:
    """From where lines are seen: the day that is asked about, and up to when facts were known.

    known_at: None for what is known now.
    """

    day: date
    known_at: datetime | None = None

    def known(self, rows: QuerySet) -> QuerySet:
        """Rows written down by then; any model with `recorded_at`."""
        return rows if self.known_at is None else rows.filter(recorded_at__lte=self.known_at)


def sources(
    as_of: date, user: User | None = None, known_at: datetime | None = None
) -> list[QuerySet]:
    """Where the lines of a day are: stamped for today, else among the spans that held.

    A stamp that a fact dated ahead has made stale is not believed. Without a user: all sites.
    """
    lines = _seen(DueLine, user)
    is_now = known_at is None and as_of == clock.today()
    if is_now and not lines.filter(holds_until__lte=as_of).exists():
        return [_stamped(lines)]
    view = View(as_of, known_at)
    return [_spans(_seen(ObligationSpan, user), view), _bare(_seen(Position, user), view)]


def _seen(model, user: User | None) -> QuerySet:
    return model.objects.all() if user is None else model.objects.visible_to(user)


def _stamped(lines: QuerySet) -> QuerySet:
    columns = {name: F(name) for name in Line._fields} | {
        name: F(f"{name}_id")
        for name in ("position", "obligation", "span", "device", "site", "unit")
    }
    return _answering(lines, columns | {"until": F("deferred_until")})


def _answering(rows: QuerySet, columns: dict) -> QuerySet:
    return rows.annotate(**{f"line_{name}": columns[name] for name in Line._fields})


def _spans(spans: QuerySet, view: View) -> QuerySet:
    place = "obligation__position"
    deferred = view.known(Deferral.objects).filter(
        obligation=OuterRef("obligation"), due_on=OuterRef("due_on"), approved_on__lte=view.day
    )
    dated = Case(
        When(due_on__isnull=False, then=F("due_on")),
        When(state__in=OWES_NOTHING, then=Value(LAST)),
        default=Value(FIRST),
        output_field=DateField(),
    )
    columns = {
        "position": F(f"{place}_id"),
        "obligation": F("obligation_id"),
        "span": F("pk"),
        "device": F("device_id"),
        "site": F(f"{place}__site_id"),
        "unit": _then(view, place, "unit_id"),
        "tag": _then(view, place, "tag"),
        "activity": F("obligation__activity"),
        "state": F("state"),
        "due_on": F("due_on"),
        "until": Subquery(deferred.values("until_on")[:1]),
        "order_on": dated,
    }
    return _answering(spans.known(view.known_at).on(view.day), columns)


def _bare(positions: QuerySet, view: View) -> QuerySet:
    """Positions of which nothing listed was owed that day."""
    spans = ObligationSpan.objects.known(view.known_at).on(view.day)
    owed = spans.filter(obligation__position=OuterRef("pk"))
    fitted = fitted_on(view).filter(position=OuterRef("pk")).values("device")
    if view.known_at is not None:
        listed = view.known(PositionDuty.objects).filter(position=OuterRef("pk"))
        positions = positions.filter(Exists(listed))
    idle = view.known(OutOfService.objects.on(view.day)).filter(position=OuterRef("pk"))
    rows = positions.exclude(Exists(owed)).annotate(
        then_idle=Exists(idle),
        then_fitted=Subquery(fitted[:1]),
        then_status=_then(view, "", "status"),
    )
    needs_nothing = Q(then_status__in=("removed", "out_of_service")) | Q(then_idle=True)
    columns = {
        "position": F("pk"),
        "obligation": _nothing(BigIntegerField()),
        "span": _nothing(BigIntegerField()),
        "device": F("then_fitted"),
        "site": F("site_id"),
        "unit": _then(view, "", "unit_id"),
        "tag": _then(view, "", "tag"),
        "activity": Value("", output_field=CharField()),
        "state": Case(
            When(needs_nothing, then=Value(SpanState.NOT_REQUIRED.value)),
            When(then_fitted=None, then=Value(SpanState.NO_DEVICE.value)),
            default=Value(SpanState.NO_OBLIGATION.value),
            output_field=CharField(),
        ),
        "due_on": _nothing(DateField()),
        "until": _nothing(DateField()),
        "order_on": Case(
            When(needs_nothing, then=Value(LAST)),
            default=Value(FIRST),
            output_field=DateField(),
        ),
    }
    return _answering(rows, columns)


def fitted_on(view: View) -> QuerySet[Installation]:
    """Spells that held on the day; one that was ended, or taken back, later still held then."""
    if view.known_at is None:
        return Installation.objects.on(view.day)
    begun = view.known(Installation.everything).filter(installed_on__lte=view.day)
    begun = begun.filter(Q(voided_at=None) | Q(voided_at__gt=view.known_at))
    not_ended = Q(removed_on=None) | Q(removed_on__gt=view.day) | Q(closed_at__gt=view.known_at)
    return begun.filter(not_ended)


def _nothing(field: Field) -> Cast:
    """An empty column of a known type: PostgreSQL takes a bare NULL for text."""
    return Cast(Value(None), output_field=field)


def _then(view: View, place: str, column: str) -> Coalesce:
    """A column of the duty the position had that day, else as it is now. "" = the row itself."""
    duties = (
        view.known(PositionDuty.objects)
        .filter(position=OuterRef(place or "pk"))
        .filter(Q(from_on=None) | Q(from_on__lte=view.day))
    )
    latest = duties.order_by(F("from_on").desc(nulls_last=True)).values(column)[:1]
    field = BigIntegerField() if column.endswith("_id") else CharField()
    now = F(f"{place}__{column}" if place else column)
    return Coalesce(Subquery(latest), now, output_field=field)


def in_order(parts: list[QuerySet], sort: str, key: Case | None = None) -> QuerySet:
    """The lines of all sources in one order that ends in what is unique. Slice it to read.

    sort: a name of `Line`, or "key" to sort on `key`; a leading "-" turns it round.
    """
    turned, name = sort.startswith("-"), sort.lstrip("-")
    columns = [*COLUMNS, "line_key"] if key is not None else COLUMNS
    if key is not None:
        parts = [part.annotate(line_key=key) for part in parts]
    first, *others = (part.values_list(*columns) for part in parts)
    rows = first.union(*others, all=True) if others else first
    ends = [f"line_{end}" for end in ("order_on", "tag", "position", "obligation") if end != name]
    return rows.order_by(f"{'-' if turned else ''}line_{name}", *ends)


def lines_of(rows: QuerySet) -> list[Line]:
    return [Line(*row[: len(COLUMNS)]) for row in rows]


def keyed_lines_of(rows: QuerySet) -> list[tuple[Line, int]]:
    """Each line with the key it was asked by."""
    return [(Line(*row[: len(COLUMNS)]), row[len(COLUMNS)]) for row in rows]
