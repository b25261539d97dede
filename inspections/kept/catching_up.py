"""Bringing the kept review up to date: for what was written since, or from the ground up.

Devices are stated in turns of some hundred, each a short transaction under the lock of the one
`Screening` row, then the fleet is screened. The row then names the entry of the chain that was the
last before it began: what was written meanwhile is caught up with next time. A chain that does not
hold that entry is another one (a database brought back from a copy), and everything is made again.

A past day is kept the same way, in a row of its own, once somebody asks for it. Days do not pass
for it, so that only what is written concerns it.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import OperationalError, connection, transaction

from fleet import clock
from fleet.models import AuditEntry, AuditHead, Device
from inspections.kept.changes import Concerned, come_true_since, written_since
from inspections.kept.past_days import make_room
from inspections.kept.screened import screen_fleet
from inspections.kept.stating import state_devices
from inspections.kept.weighing import weigh
from inspections.models import Screening

Progress = Callable[[str, int, int], None]
TURN = 500  # devices
FEW = 200  # devices, that a page may bring up to date while somebody waits
SCREENED_AT_ONCE = 20_000  # settings, that a page may screen meanwhile
BUDGET = Decimal("0.1")
STATING, SCREENING = "Reviewing the settings of devices", "Screening the fleet"


@dataclass(frozen=True)
class Stands:
    """How far the kept review is: behind the chain's `head` or not. `is_busy`: another is at it."""

    screening: Screening
    head: int
    is_behind: bool
    is_busy: bool = False

    @property
    def is_made(self) -> bool:
        """Whether it was ever finished; until then what is kept is a part of it."""
        return bool(self.screening.entry)

    @property
    def is_screened(self) -> bool:
        """Whether the statistics too are of what is kept."""
        return self.screening.screened == self.screening.entry


def catch_up(*, at: datetime, progress: Progress | None = None, day: date | None = None) -> Stands:
    """Make again whatever something was written about, however much that is. `day`: of a past
    day; None = of today."""
    head, kept = _head(), _kept(at, day)
    if _is_current(kept, head, at) and kept.screened == kept.entry:
        return Stands(kept, head.number, is_behind=False)
    return _bring(kept, concerns(kept, at), head, at, progress or _silent)


def catch_up_if_few(*, at: datetime, day: date | None = None) -> Stands:
    """The same for a page: only if few devices are concerned and nobody else is at it; a fleet of
    very many settings is left to be screened in the background."""
    head, kept = _head(), _kept(at, day)
    if _is_current(kept, head, at):
        return Stands(kept, head.number, is_behind=False)
    try:
        with _turn_if_free(kept) as taken:
            if not taken:
                return Stands(kept, head.number, is_behind=True, is_busy=True)
            head, kept = _head(), _kept(at, day)
            concerned = concerns(kept, at)
            if _count(concerned) > FEW:
                return Stands(kept, head.number, is_behind=True)
            few = kept.judged + kept.too_few <= SCREENED_AT_ONCE
            return _bring(kept, concerned, head, at, _silent, is_to_screen=few)
    except OperationalError:  # SQLite admits one writer, and somebody is writing for long
        return Stands(kept, head.number, is_behind=True, is_busy=True)


def restate(*, at: datetime, progress: Progress | None = None, day: date | None = None) -> Stands:
    """Make everything again, from the records alone."""
    return _bring(_kept(at, day), Concerned(None, True), _head(), at, progress or _silent)


def concerns(kept: Screening, at: datetime) -> Concerned:
    """Whom what was written, and what came true, since it was kept concerns."""
    if not kept.entry or not _is_of_this_chain(kept):
        return Concerned(None, True)
    parts = [written_since(kept.entry)]
    if not kept.day:
        parts.append(come_true_since(clock.day_of(kept.made_at), clock.day_of(at)))
    if any(part.devices is None for part in parts):
        return Concerned(None, True)
    devices = frozenset(pk for part in parts for pk in part.devices or ())
    return Concerned(devices, any(part.is_any for part in parts))


def _head() -> AuditHead:
    return AuditHead.objects.first() or AuditHead()


def _kept(at: datetime, day: date | None) -> Screening:
    """The row of a day; not yet written where nothing of it is kept."""
    return Screening.objects.filter(day=day).first() or Screening(day=day, **_nothing(at))


def _nothing(at: datetime) -> dict[str, Any]:
    return {"entry": 0, "made_at": at, "budget": BUDGET}


def _is_current(kept: Screening, head: AuditHead, at: datetime) -> bool:
    """Without a chain nobody can say what was written, so everything is made again each time."""
    same_day = bool(kept.day) or clock.day_of(kept.made_at) == clock.day_of(at)
    return (
        bool(head.number) and same_day and (kept.entry, kept.digest) == (head.number, head.digest)
    )


def _is_of_this_chain(kept: Screening) -> bool:
    return AuditEntry.objects.filter(number=kept.entry, digest=kept.digest).exists()


def _count(concerned: Concerned) -> int:
    return Device.objects.count() if concerned.devices is None else len(concerned.devices)


def _bring(
    kept: Screening,
    concerned: Concerned,
    head: AuditHead,
    at: datetime,
    progress: Progress,
    *,
    is_to_screen: bool = True,
) -> Stands:
    devices = sorted(_all_devices() if concerned.devices is None else concerned.devices)
    day = kept.day or clock.day_of(at)
    key = _row_of(kept)
    for start, keys in _turns(devices):
        progress(STATING, start, len(devices))
        with _turn(key) as kept:
            state_devices(kept, keys, day)
            weigh(kept, keys)
    progress(SCREENING, 0, 0)
    with _turn(key) as kept:
        is_screened = kept.screened == kept.entry and not concerned.is_any
        if is_to_screen and not is_screened:
            for _, keys in _turns(sorted(screen_fleet(kept, day))):
                weigh(kept, keys)
        kept.entry, kept.digest, kept.made_at = head.number, head.digest, at
        if is_to_screen or is_screened:
            kept.screened = head.number
        kept.save()
    return Stands(kept, head.number, is_behind=False)


def _all_devices() -> list[int]:
    return list(Device.objects.values_list("pk", flat=True))


def _turns(keys: Sequence[int]) -> Iterator[tuple[int, Sequence[int]]]:
    for start in range(0, len(keys), TURN):
        yield start, keys[start : start + TURN]


def _row_of(kept: Screening) -> int:
    """The key of this day's row, written now where there was none."""
    row, is_new = Screening.objects.get_or_create(day=kept.day, defaults=_nothing(kept.made_at))
    if is_new and kept.day:
        make_room(row)
    return row.pk


@contextmanager
def _turn(key: int) -> Iterator[Screening]:
    """A short transaction in which nobody else states or screens that day."""
    with transaction.atomic():
        yield Screening.objects.select_for_update().get(pk=key)


@contextmanager
def _turn_if_free(kept: Screening) -> Iterator[bool]:
    """The same without waiting; False when another is at it."""
    with _impatient(), transaction.atomic():
        rows = Screening.objects.filter(pk=_row_of(kept))
        if connection.features.has_select_for_update_skip_locked:
            rows = rows.select_for_update(skip_locked=True)
        yield rows.first() is not None


@contextmanager
def _impatient() -> Iterator[None]:
    """On SQLite every writer shuts out the others: wait a moment for it, not for an import."""
    if connection.vendor != "sqlite":
        yield
        return
    timeout = int(connection.settings_dict["OPTIONS"].get("timeout", 5) * 1000)
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout = 500")
        try:
            yield
        finally:
            cursor.execute(f"PRAGMA busy_timeout = {timeout}")


def _silent(doing: str, done: int, total: int) -> None:
    pass
