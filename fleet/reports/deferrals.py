"""Leave to pass due dates: what waits for an answer, what is in force, what has run out."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any, NamedTuple

from django.db.models import Exists, F, OuterRef, QuerySet

from fleet import clock
from fleet.models import Deferral, DeferralRequest, ObligationSpan, User

ASKED, IN_FORCE, EXPIRED, SERVED, REFUSED = "asked", "in_force", "expired", "served", "refused"
STATES = (ASKED, IN_FORCE, EXPIRED, SERVED, REFUSED)  # in the order of the list
SORTS = ("state", "tag", "due_on", "until_on")
PLACE = "obligation__position"
CHUNK = 500


@dataclass(frozen=True)
class Ask:
    """What is wanted of the list; empty means any."""

    site: int | None = None
    unit: int | None = None
    policy: str = ""
    state: str = ""


@dataclass(frozen=True)
class LeaveRow:
    """A request or a deferral; its fields down to `words` are the columns of every export.

    days: how long it has waited, or until it ends; negative once it has ended.
    """

    site: str
    unit: str
    tag: str
    activity: str
    due_on: date
    until_on: date
    policy: str
    state: str
    reason: str
    interim_measure: str
    document: str
    notified_on: date | None
    asked_by: str
    asked_on: date | None
    answered_by: str
    answered_on: date | None
    words: str
    days: int
    position: int
    site_id: int
    request: DeferralRequest | None

    def as_dict(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in COLUMNS}


COLUMNS = tuple(LeaveRow.__dataclass_fields__)[:17]


class Key(NamedTuple):
    """What a row is found and sorted by; `is_request` says in which table it is."""

    state: str
    due_on: date
    until_on: date
    tag: str
    is_request: bool
    pk: int


@dataclass(frozen=True)
class Leaves:
    """Requests and deferrals that a user may see, as of a day."""

    user: User
    today: date
    ask: Ask = Ask()

    @cached_property
    def _keys(self) -> list[Key]:
        return [*self._requests(), *self._deferrals()]

    def counts(self) -> Mapping[str, int]:
        """How many of each state, whatever state is asked for."""
        counts = dict.fromkeys(STATES, 0)
        for key in self._keys:
            counts[key.state] += 1
        return counts

    @cached_property
    def _wanted(self) -> list[Key]:
        return [key for key in self._keys if self.ask.state in ("", key.state)]

    def count(self) -> int:
        return len(self._wanted)

    def rows(self, start: int = 0, stop: int | None = None, sort: str = "state") -> list[LeaveRow]:
        """A page of rows; two queries, whatever its length."""
        name, turned = sort.lstrip("-"), sort.startswith("-")
        ordered = sorted(self._wanted, key=_by_state)
        if name != "state":
            ordered.sort(key=lambda key: getattr(key, name))
        if turned:
            ordered.reverse()
        return list(self._loaded(ordered[start:stop]))

    def every_row(self, sort: str = "state") -> Iterator[LeaveRow]:
        for start in range(0, self.count(), CHUNK):
            yield from self.rows(start, start + CHUNK, sort)

    def _requests(self) -> Iterator[Key]:
        """Those that wait, and those refused; an approved one is its deferral."""
        rows = self._mine(DeferralRequest.objects.visible_to(self.user)).filter(deferral=None)
        for key, answer, *about in rows.values_list("pk", "answer", *KEYED):
            yield Key(REFUSED if answer else ASKED, *about, True, key)

    def _deferrals(self) -> Iterator[Key]:
        spans = ObligationSpan.objects.known().on(self.today)
        owed = spans.filter(obligation=OuterRef("obligation"), due_on=OuterRef("due_on"))
        rows = self._mine(Deferral.objects.visible_to(self.user)).annotate(is_owed=Exists(owed))
        for key, is_owed, *about in rows.values_list("pk", "is_owed", *KEYED):
            held = IN_FORCE if about[1] >= self.today else EXPIRED
            yield Key(held if is_owed else SERVED, *about, False, key)

    def _mine(self, rows: QuerySet) -> QuerySet:
        asked = {
            f"{PLACE}__site": self.ask.site,
            f"{PLACE}__unit": self.ask.unit,
            "policy": self.ask.policy,
        }
        rows = rows.filter(**{name: value for name, value in asked.items() if value})
        return rows.annotate(tag=F(f"{PLACE}__tag")).order_by("pk")

    def _loaded(self, keys: list[Key]) -> Iterator[LeaveRow]:
        links = ("obligation", f"{PLACE}__site", f"{PLACE}__unit")
        requests = DeferralRequest.objects.select_related(*links, "recorded_by", "answered_by")
        asked = requests.in_bulk([key.pk for key in keys if key.is_request])
        deferrals = Deferral.objects.select_related(*links, "approved_by", "request__recorded_by")
        given = deferrals.in_bulk([key.pk for key in keys if not key.is_request])
        for key in keys:
            if key.is_request:
                yield _of_request(asked[key.pk], key.state, self.today)
            else:
                yield _of_deferral(given[key.pk], key.state, self.today)


KEYED = ("due_on", "until_on", "tag")


def _by_state(key: Key) -> tuple:
    """Requests by the due date they would pass, leave by its end; what is over, latest first."""
    day = key.due_on if key.state == ASKED else key.until_on
    turned = -day.toordinal() if key.state in (SERVED, REFUSED) else day.toordinal()
    return (STATES.index(key.state), turned, key.tag, key.pk)


def _of_request(row: DeferralRequest, state: str, today: date) -> LeaveRow:
    answered_on = clock.day_of(row.answered_at) if row.answered_at else None
    return _row(
        row,
        state,
        asked_by=row.recorded_by.name,
        asked_on=row.requested_on,
        answered_by=row.answered_by.name if row.answered_by else "",
        answered_on=answered_on,
        words=row.answer_words,
        days=(today - row.requested_on).days,
        request=row,
    )


def _of_deferral(row: Deferral, state: str, today: date) -> LeaveRow:
    request = getattr(row, "request", None)  # none stands behind what a sheet brought
    return _row(
        row,
        state,
        asked_by=request.recorded_by.name if request else "",
        asked_on=request.requested_on if request else None,
        answered_by=row.approved_by.name,
        answered_on=row.approved_on,
        words=request.answer_words if request else "",
        days=(row.until_on - today).days,
        request=None,
    )


SAME = ("due_on", "until_on", "policy", "reason", "interim_measure", "document", "notified_on")


def _row(row: Deferral | DeferralRequest, state: str, **about: Any) -> LeaveRow:
    place = row.obligation.position
    return LeaveRow(
        site=place.site.name,
        unit=place.unit.name,
        tag=place.tag,
        activity=row.obligation.activity,
        state=state,
        position=place.pk,
        site_id=place.site_id,
        **{name: getattr(row, name) for name in SAME},
        **about,
    )
