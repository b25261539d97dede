"""What a calendar shows of one site: its outages, and the due dates of the next twelve months.

One event an obligation, not one a position and day: a due date that moves keeps its event, so that
a calendar moves it where an event named after the day would be left standing. Events, not to-dos,
because many calendar programs show nothing else of an address they subscribe to.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import islice

from django.db.models import Count, Max
from django.urls import reverse

from fleet import permissions
from fleet.calc.units import parse_duration
from fleet.clock import end_of
from fleet.drawings.axis import day_words
from fleet.models import AuditEntry, Deferral, Feed, ObligationSpan, Outage
from fleet.reports.due import DueList, DueRow
from fleet.reports.due_ask import Ask
from fleet.reports.reasons import activity_words, with_day_words

AHEAD, BEHIND = parse_duration("P12M"), timedelta(days=365)
CONFIRMED, TENTATIVE, CANCELLED = "CONFIRMED", "TENTATIVE", "CANCELLED"
STANDS = {Outage.Status.DRAFT: TENTATIVE, Outage.Status.CANCELLED: CANCELLED}
DAY = timedelta(days=1)
CHUNK = 1000


@dataclass(frozen=True)
class Entry:
    """One event over whole days.

    key: stable for ever. until_on: the day after its last one. changed_at: when what it says was
    last written down, or a day that it names went by, if that was later. sequence: how often it
    was changed; None where that is not counted.
    """

    key: str
    from_on: date
    until_on: date
    summary: str
    description: str
    place: str
    path: str
    changed_at: datetime
    status: str = CONFIRMED
    sequence: int | None = None


def feed_of(digest: str) -> Feed | None:
    """The address with this digest, if it is still one: not revoked, its owner signed in no less
    than allowed to, and still of that site."""
    feed = Feed.objects.select_related("user", "site").filter(digest=digest).first()
    if feed is None or feed.revoked_at is not None:
        return None
    return feed if feed.user.may(permissions.READ, feed.site_id) else None


def entries_of(feed: Feed, today: date) -> list[Entry]:
    """All that the owner may see of the site, in order of days. About fifteen queries."""
    outages = Outage.objects.visible_to(feed.user).filter(site=feed.site_id)
    stand = outages.filter(ends_on__gte=today - BEHIND).prefetch_related("units")
    found = [*_outages(list(stand), feed), *_due(feed, today)]
    return sorted(found, key=lambda entry: (entry.from_on, entry.key))


def _outages(outages: Sequence[Outage], feed: Feed) -> Iterator[Entry]:
    changes = _changes(f"outage:{outage.pk}" for outage in outages)
    for outage in outages:
        at, count = changes.get(f"outage:{outage.pk}", (feed.made_at, 1))
        status = Outage.Status(outage.status)
        units = ", ".join(unit.name for unit in outage.units.all())
        words = [f"{units or 'No unit'} down {_days(outage)}; the outage is {status.label}."]
        if outage.freeze_on:
            words.append(f"Scope frozen from {day_words(outage.freeze_on)}.")
        yield Entry(
            key=f"outage-{outage.pk}",
            from_on=outage.starts_on,
            until_on=outage.ends_on + DAY,
            summary=f"Outage {outage.name}: {units or 'no unit'}",
            description=" ".join(words),
            place=feed.site.name,
            path=reverse("outage", args=[outage.pk]),
            changed_at=at,
            status=STANDS.get(status, CONFIRMED),
            sequence=count - 1,
        )


def _days(outage: Outage) -> str:
    return f"from {day_words(outage.starts_on)} to {day_words(outage.ends_on)}"


def _changes(aggregates: Iterable[str]) -> dict[str, tuple[datetime, int]]:
    """When each was last changed, and how often it was written, by the audit chain."""
    rows = AuditEntry.objects.filter(aggregate__in=list(aggregates)).order_by()
    said = rows.values("aggregate").annotate(last=Max("at"), count=Count("pk"))
    return {row["aggregate"]: (row["last"], row["count"]) for row in said}


def _due(feed: Feed, today: date) -> Iterator[Entry]:
    ask = Ask(site=feed.site_id, until=AHEAD.after(today))
    every = DueList(today, feed.user, ask).every_row()
    while rows := list(islice(every, CHUNK)):
        yield from _entries([row for row in rows if row.due_on], today)


def _entries(rows: Sequence[DueRow], today: date) -> Iterator[Entry]:
    spans = ObligationSpan.objects.filter(pk__in=[row.line.span for row in rows])
    written, leave = dict(spans.values_list("pk", "recorded_at")), _leave(rows)
    for row in rows:
        assert row.due_on is not None and row.line.span is not None
        stamps = (written[row.line.span], leave.get((row.line.obligation, row.due_on)))
        passed = (end_of(day) for day in (row.due_on, row.deferred_until) if day and day < today)
        yield _due_entry(row, row.due_on, max([*filter(None, stamps), *passed]))


def _leave(rows: Sequence[DueRow]) -> dict[tuple[int | None, date], datetime]:
    """When leave to pass each due date was written down."""
    deferred = [row.line.obligation for row in rows if row.deferred_until]
    given = Deferral.objects.filter(obligation__in=deferred)
    return {(d.obligation_id, d.due_on): d.recorded_at for d in given}


def _due_entry(row: DueRow, due_on: date, changed_at: datetime) -> Entry:
    work = activity_words(row.activity)
    marks = "overdue" if row.status in ("overdue", "overdue_deferred") else ""
    leave = f"deferred until {day_words(row.deferred_until)}" if row.deferred_until else ""
    said = "; ".join(filter(None, [marks, leave]))
    device = f"Device {row.device}{f', serial {row.serial}' if row.serial else ''}."
    return Entry(
        key=f"obligation-{row.line.obligation}",
        from_on=due_on,
        until_on=due_on + DAY,
        summary=f"{row.tag}: {work} due" + (f" ({said})" if said else ""),
        description=f"{with_day_words(row.reason)}. {device if row.device else ''}".strip(),
        place=f"{row.unit}, {row.site}",
        path=reverse("position", args=[row.line.position]),
        changed_at=changed_at,
    )
