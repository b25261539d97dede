"""What is asked of the settings review, and the review as a list that sorts and cuts itself."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property, lru_cache

from fleet.models import AuditHead, User
from inspections.reports.settings import SettingRow, devices_for, review

NOTHING_FLAGGED = "nothing_flagged"


@dataclass(frozen=True)
class SettingsAsk:
    """What is wanted of the list; empty means any. `flag`: a code, `any` or `nothing_flagged`."""

    site: int | None = None
    unit: int | None = None
    model: int | None = None
    flag: str = ""
    find: str = ""

    def takes(self, row: SettingRow, *, any_flag: bool = False) -> bool:
        return (
            (not self.site or self.site == row.site_id)
            and (not self.unit or (row.stand is not None and self.unit == row.stand.unit))
            and (not self.model or self.model == row.model_id)
            and (any_flag or self._takes_flag(row))
            and self._finds(row)
        )

    def _takes_flag(self, row: SettingRow) -> bool:
        if self.flag in ("", "any", NOTHING_FLAGGED):
            return self.flag == "" or bool(row.flags) == (self.flag == "any")
        return self.flag in row.flags

    def _finds(self, row: SettingRow) -> bool:
        sought = self.find.casefold()
        return any(sought in text.casefold() for text in (row.tag, row.device, row.serial))


SORTS = {
    "tag": lambda row: (row.tag == "", row.tag),
    "device": lambda row: row.device,
    "setting": lambda row: row.setting,
}


@dataclass(frozen=True)
class Review:
    """The rows of a day, worst first, as far as they are asked for."""

    as_of: date
    every: Sequence[SettingRow]
    ask: SettingsAsk = SettingsAsk()

    @cached_property
    def found(self) -> list[SettingRow]:
        return [row for row in self.every if self.ask.takes(row)]

    @cached_property
    def whatever_flag(self) -> list[SettingRow]:
        """What is asked for, with the flag left open: what the figures above the list count."""
        return [row for row in self.every if self.ask.takes(row, any_flag=True)]

    def count(self) -> int:
        return len(self.found)

    def rows(self, start: int = 0, stop: int | None = None, sort: str = "") -> list[SettingRow]:
        return self.sorted(sort)[start:stop]

    def sorted(self, sort: str = "") -> list[SettingRow]:
        """`sort`: a key of SORTS, "-" in front turns it; else worst first."""
        key = SORTS.get(sort.lstrip("-"))
        return sorted(self.found, key=key, reverse=sort.startswith("-")) if key else self.found


def kept_review(as_of: date, user: User) -> Sequence[SettingRow]:
    """The review, worked out again only when something was written since.

    Whatever it reads is on the audit chain, so the chain's head says whether anything was.
    """
    head = AuditHead.objects.first()
    if head is None or not head.number:
        return review(as_of, devices_for(user))
    return _kept(head.digest, as_of, user.pk, tuple(user.site_ids()))


@lru_cache(maxsize=4)
def _kept(head: str, as_of: date, user: int, sites: tuple[int, ...]) -> Sequence[SettingRow]:
    return review(as_of, devices_for(User.objects.get(pk=user)))


def first_visit(rows: Iterable[SettingRow]) -> date | None:
    """The earliest day any of these rows has a reading of."""
    return min((row.one.overhauls[0].on for row in rows if row.one.overhauls), default=None)
