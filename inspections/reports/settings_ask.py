"""What is asked of the settings review, and the review of a day as a list in memory: what the kept
one is proved against."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any, Protocol

from fleet.models import Device, User
from inspections.reports.screening import screened
from inspections.reports.settings import WEIGHTS, SettingRow, review, undated_count

NOTHING_FLAGGED = "nothing_flagged"


@dataclass(frozen=True)
class SettingsAsk:
    """What is wanted of the list; empty means any. `flag`: a code, `any` or `nothing_flagged`;
    `acknowledged`: `yes` or `no`, of the flag that is asked for, else of any."""

    site: int | None = None
    unit: int | None = None
    model: int | None = None
    service: str = ""
    flag: str = ""
    acknowledged: str = ""
    find: str = ""

    def takes(self, row: SettingRow, *, any_flag: bool = False) -> bool:
        return (
            (not self.site or self.site == row.site_id)
            and (not self.unit or (row.stand is not None and self.unit == row.stand.unit))
            and (not self.model or self.model == row.model_id)
            and (not self.service or (row.stand is not None and self.service == row.stand.fluid))
            and (any_flag or (self._takes_flag(row) and self._takes_answer(row)))
            and self._finds(row)
        )

    def _takes_flag(self, row: SettingRow) -> bool:
        if self.flag in ("", "any", NOTHING_FLAGGED):
            return self.flag == "" or bool(row.flags) == (self.flag == "any")
        return self.flag in row.flags

    def _takes_answer(self, row: SettingRow) -> bool:
        asked = [code for code in row.flags if self.flag not in WEIGHTS or code == self.flag]
        answered = [code in row.answered for code in asked]
        return not self.acknowledged or (self.acknowledged == "yes") in answered

    def _finds(self, row: SettingRow) -> bool:
        sought = self.find.casefold()
        return any(sought in text.casefold() for text in (row.tag, row.device, row.serial))


ANYTHING = SettingsAsk()


@dataclass(frozen=True)
class Tally:
    """Counts of a list; `counts`: rows that carry each flag."""

    rows: int
    devices: int
    flagged_rows: int
    flagged_devices: int
    counts: dict[str, int]

    def summary(self, as_of: date) -> dict[str, Any]:
        """For the end of an export."""
        return {
            "as_of": as_of,
            "rows": self.rows,
            "devices": self.devices,
            "flagged_rows": self.flagged_rows,
            "flagged_devices": self.flagged_devices,
            **self.counts,
        }


def tally_of(rows: Iterable[SettingRow]) -> Tally:
    rows = list(rows)
    flagged = [row for row in rows if row.raised]
    counts = Counter(code for row in rows for code in row.flags)
    return Tally(
        rows=len(rows),
        devices=len({row.device_id for row in rows}),
        flagged_rows=len(flagged),
        flagged_devices=len({row.device_id for row in flagged}),
        counts={code: counts[code] for code in WEIGHTS},
    )


SORTS = {
    "tag": lambda row: (row.tag == "", row.tag),
    "device": lambda row: row.device,
    "setting": lambda row: row.setting,
}


class Listing(Protocol):
    """The review as a page and an export need it."""

    @property
    def as_of(self) -> date: ...
    @property
    def first_on(self) -> date | None: ...
    def count(self) -> int: ...
    def tally(self) -> Tally: ...
    def rows(self, start: int = 0, stop: int | None = None, sort: str = "") -> list[SettingRow]: ...
    def every_row(self, sort: str = "") -> Iterator[SettingRow]: ...
    def summary(self) -> dict[str, Any]: ...


@dataclass(frozen=True)
class Review:
    """The rows of a day, worst first, as far as they are asked for."""

    as_of: date
    every: Sequence[SettingRow]
    ask: SettingsAsk = ANYTHING
    user: User | None = None

    @cached_property
    def found(self) -> list[SettingRow]:
        return [row for row in self.every if self.ask.takes(row)]

    @property
    def first_on(self) -> date | None:
        """The earliest day any of these rows has a reading of."""
        days = (row.one.overhauls[0].on for row in self.found if row.one.overhauls)
        return min(days, default=None)

    def count(self) -> int:
        return len(self.found)

    def tally(self) -> Tally:
        """What is asked for, with the flag left open: what the figures above the list count."""
        return tally_of(row for row in self.every if self.ask.takes(row, any_flag=True))

    def rows(self, start: int = 0, stop: int | None = None, sort: str = "") -> list[SettingRow]:
        return self.sorted(sort)[start:stop]

    def every_row(self, sort: str = "") -> Iterator[SettingRow]:
        return iter(self.sorted(sort))

    def summary(self) -> dict[str, Any]:
        undated = undated_count(self.user)
        return tally_of(self.found).summary(self.as_of) | {"undated_records": undated}

    def sorted(self, sort: str = "") -> list[SettingRow]:
        """`sort`: a key of SORTS, "-" in front turns it; else worst first."""
        key = SORTS.get(sort.lstrip("-"))
        return sorted(self.found, key=key, reverse=sort.startswith("-")) if key else self.found


def screened_review(as_of: date) -> Sequence[SettingRow]:
    """Every device's rows with their statistics; nothing kept is read."""
    return screened(review(as_of, Device.objects.all()), as_of)
