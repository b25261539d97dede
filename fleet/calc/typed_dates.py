"""Dates as people type them: ISO 8601, or a day and month whose order the run names."""

import re
from dataclasses import dataclass, field
from datetime import date

from fleet.calc.quantities import UnitsError

EARLIEST_YEAR, LATEST_YEAR = 1800, 2199  # beyond these it is a slip of the finger
ORDERS = {"DMY": (2, 1, 0), "MDY": (2, 0, 1)}  # where year, month and day stand

_ISO = re.compile(r"([0-9]{4})(?:-([0-9]{2})(?:-([0-9]{2}))?)?")
_ORDERED = re.compile(r"([0-9]{1,2})([/.\-])([0-9]{1,2})\2([0-9]{4})")
_EXPECTED = "a date such as 2025-04-03, or 2025-04 or 2025 where only that is known"


@dataclass(frozen=True, slots=True)
class TypedDate:
    """A day, and what was typed; of a partial date `on` is the earliest day it can mean."""

    on: date
    text: str = field(compare=False)
    is_partial: bool = False

    def __str__(self) -> str:
        return self.text


def parse_date(text: str, date_order: str | None = None) -> TypedDate:
    """Read ISO 8601 (2025-04-03, 2025-04, 2025), or 03/04/2025 if `date_order` is DMY or MDY.

    Nothing is guessed: other forms, two-digit years and days that do not exist raise UnitsError.
    """
    if date_order not in (None, *ORDERS):
        raise ValueError(f"date_order is DMY, MDY or None, not {date_order!r}")
    typed = text.strip()
    if match := _ISO.fullmatch(typed):
        year, month, day = match.groups()
        return TypedDate(_day(typed, year, month or "1", day or "1"), typed, day is None)
    if match := _ORDERED.fullmatch(typed):
        if date_order is None:
            raise UnitsError(
                typed, f"{_EXPECTED}; day and month first only if their order is named"
            )
        numbers = (match[1], match[3], match[4])
        return TypedDate(_day(typed, *(numbers[at] for at in ORDERS[date_order])), typed)
    raise UnitsError(typed, _EXPECTED)


def _day(typed: str, year: str, month: str, day: str) -> date:
    if not EARLIEST_YEAR <= int(year) <= LATEST_YEAR:
        raise UnitsError(typed, f"a year from {EARLIEST_YEAR} to {LATEST_YEAR}")
    try:
        return date(int(year), int(month), int(day))
    except ValueError as error:
        raise UnitsError(typed, f"a day that exists; {_EXPECTED}") from error
