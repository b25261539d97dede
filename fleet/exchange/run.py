"""One run of the exchange: how it reads, what it found wrong, what it wrote."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from fleet.exchange.cells import Reading
from fleet.exchange.lookups import Lookups
from fleet.exchange.sheets import Row
from fleet.faults import FAULT, FINDING, NOTE, Fault
from fleet.models import Site, User

Progress = Callable[[str, int, int], None]  # what is being done, how many are done, of how many


def silent(doing: str, done: int, total: int) -> None:
    """No progress is shown."""


@dataclass(frozen=True)
class Options:
    """How a run reads.

    site: for rows that name none. only_site: the one site this person may load into; None = any.
    leave_unverified: rows without a verifier stay open instead of being accepted.
    """

    site: str = ""
    only_site: Site | None = None
    decimal_mark: str | None = None
    date_order: str | None = None
    leave_unverified: bool = False


@dataclass
class Report:
    """What a run found and did. With a fault in it nothing was written.

    counts: {"positions added": 3, ...}; sheets: rows read, by sheet.
    """

    said: list[Fault] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)
    sheets: dict[str, int] = field(default_factory=dict)
    is_dry_run: bool = False

    def say(self, fault: Fault) -> None:
        self.said.append(fault)

    def _of(self, severity: str) -> list[Fault]:
        return [fault for fault in self.said if fault.severity == severity]

    @property
    def faults(self) -> list[Fault]:
        return self._of(FAULT)

    @property
    def findings(self) -> list[Fault]:
        return self._of(FINDING)

    @property
    def notes(self) -> list[Fault]:
        return self._of(NOTE)

    @property
    def is_changed(self) -> bool:
        """Was anything written, or would it be?"""
        return any(self.counts.values())


@dataclass
class Run:
    """What the loaders share.

    touched: positions to replay at the end, moved_devices: and all those these devices have
    served. written: (row, what it wrote), by sheet, for the
    questions a load asks once everything is in. first_found: positions whose first records came.
    """

    by: User
    at: datetime
    today: date
    options: Options
    report: Report
    lookups: Lookups
    progress: Progress = silent
    touched: set[int] = field(default_factory=set)
    moved_devices: set[int] = field(default_factory=set)
    first_found: set[int] = field(default_factory=set)
    broken: dict[str, set] = field(default_factory=dict)
    written: dict[str, list[tuple[Row, Any]]] = field(default_factory=dict)

    def say(self, fault: Fault) -> None:
        self.report.say(fault)

    def wrote(self, row: Row, thing: Any) -> None:
        self.written.setdefault(row.sheet, []).append((row, thing))

    def count(self, what: str, number: int = 1) -> None:
        if number:
            self.report.counts[what] += number

    def reading(self) -> Reading:
        return Reading(self.today, self.options.decimal_mark, self.options.date_order)

    def mark_broken(self, noun: str, key: object) -> None:
        """A row that names this has a fault of its own, which was said; do not say it again."""
        self.broken.setdefault(noun, set()).add(key)

    def is_broken(self, noun: str, key: object) -> bool:
        return key in self.broken.get(noun, ())
