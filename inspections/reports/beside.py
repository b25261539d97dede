"""What stands and happens beside the work at one position: who it does its duty with, triggers,
counter readings, days out of service."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from fleet.calc.coverage import Coverage
from fleet.models import ArrangementMember, CounterReading, OutOfService, Position, Trigger
from fleet.reports.coverage import protection_of
from fleet.reports.due import DueList, DueRow, rows_of
from fleet.reports.due_lines import in_order, lines_of, sources
from inspections.reports.timeline import PLAIN, WARN, Entry


@dataclass(frozen=True)
class Partner:
    """Another position of an arrangement, with its earliest line of the due list."""

    member: ArrangementMember
    next: DueRow | None


@dataclass(frozen=True)
class Together:
    """One arrangement: this position's place in it, and the others."""

    mine: ArrangementMember
    partners: Sequence[Partner]


@dataclass(frozen=True)
class Counted:
    """A counter of use: its last reading, and how many there are."""

    last: CounterReading
    count: int

    @property
    def stands_at(self) -> str:
        return f"{self.last.value.normalize():f}"


@dataclass(frozen=True)
class Beside:
    """All of it. left: what its arrangements leave of the duty while this one is out; None where
    it stands alone. idle_now: the days out of service that have not ended."""

    together: Sequence[Together]
    left: Coverage | None
    triggers: Sequence[Trigger]  # latest first
    counters: Sequence[Counted]
    idle: Sequence[OutOfService]  # latest first
    idle_now: OutOfService | None


def beside_of(position: Position, due: DueList) -> Beside:
    """Four queries, and where the position is in an arrangement those of the due list and of what
    is left."""
    idle = list(position.idle_spans.select_related("told_by").order_by("-from_on"))
    together = _together(position, due)
    return Beside(
        together=together,
        left=protection_of([position.pk], due.as_of).without(position.pk) if together else None,
        triggers=list(position.triggers.select_related("recorded_by").order_by("-happened_on")),
        counters=_counters(position),
        idle=idle,
        idle_now=next((span for span in idle if span.to_on is None), None),
    )


def _together(position: Position, due: DueList) -> list[Together]:
    members = ArrangementMember.objects.filter(arrangement__members__position=position)
    members = members.select_related("arrangement", "position").order_by("arrangement", "pk")
    groups: dict[int, list[ArrangementMember]] = {}
    for member in members:
        groups.setdefault(member.arrangement_id, []).append(member)
    others = {m.position_id for group in groups.values() for m in group} - {position.pk}
    soonest: dict[int, DueRow] = {}
    for row in rows_at(others, due):
        soonest.setdefault(row.line.position, row)
    return [
        Together(
            next(member for member in group if member.position_id == position.pk),
            [
                Partner(member, soonest.get(member.position_id))
                for member in group
                if member.position_id != position.pk
            ],
        )
        for group in groups.values()
    ]


def rows_at(positions: Collection[int], due: DueList) -> list[DueRow]:
    """The due list's rows of these positions, in the order of their dates."""
    if not positions:
        return []
    places = sorted(positions)
    parts = [part.filter(line_position__in=places) for part in sources(due.as_of, due.user)]
    return rows_of(lines_of(in_order(parts, "order_on")), due.seen)


def _counters(position: Position) -> list[Counted]:
    found: dict[str, Counted] = {}
    for reading in position.readings.order_by("read_on"):
        before = found.get(reading.counter)
        found[reading.counter] = Counted(reading, before.count + 1 if before else 1)
    return [found[name] for name in sorted(found)]


def entries_of(beside: Beside) -> Iterator[Entry]:
    """What goes among everything that happened; readings of counters would drown it."""
    for trigger in beside.triggers:
        words = trigger.get_kind_display().capitalize()
        yield Entry(trigger.happened_on, words, trigger.note, WARN)
    for span in beside.idle:
        by = f"told by {span.told_by}" if span.told_by else ""
        beneath = ", ".join(filter(None, [span.how, by]))
        yield Entry(span.from_on, "Out of service", beneath, PLAIN)
        if span.to_on:
            yield Entry(span.to_on, "Back in service", "", PLAIN)
