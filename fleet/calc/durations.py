"""Lengths of time as law and codes write them: ISO 8601 text, months first, then days.

Months clamp to the month's end (31 August + 18 months = 28 February) and are always added to the
anchor itself, never step by step. Pure; raises DurationError.
"""

import re
from dataclasses import dataclass, field
from datetime import date, timedelta

from dateutil.relativedelta import relativedelta

PATTERN = re.compile(
    r"P(?:(?P<weeks>\d{1,4})W|(?:(?P<years>\d{1,4})Y)?(?:(?P<months>\d{1,4})M)?(?:(?P<days>\d{1,5})D)?)",
    re.ASCII,
)
EXPECTED = "a length of time such as P5Y, P15M, P6W, P92D or P7M15D (weeks stand alone)"
MOST_MONTHS, MOST_DAYS = 1200, 36525
UNITS = ("years", "months", "weeks", "days")


class DurationError(ValueError):
    """Not a length of time; `typed` is what was given, `expected` what would do."""

    def __init__(self, typed: str, expected: str = EXPECTED) -> None:
        self.typed, self.expected = typed, expected
        super().__init__(f"{typed!r}: expected {expected}")


@dataclass(frozen=True)
class Duration:
    """Calendar months, then days. P1Y and P12M are equal; `text` keeps what was typed."""

    months: int
    days: int
    text: str = field(compare=False)

    def after(self, day: date) -> date:
        """The day this long after `day`, months first. OverflowError past the year 9999."""
        try:
            return day + relativedelta(months=self.months) + timedelta(days=self.days)
        except ValueError as error:
            raise OverflowError(f"{self.text} after {day} is past the calendar's end") from error

    @property
    def words(self) -> str:
        """As typed, in words: P7M15D is "7 months 15 days"."""
        found = PATTERN.fullmatch(self.text)
        counts = found.groupdict() if found else {}
        parts = [(int(counts[unit] or 0), unit) for unit in UNITS if counts.get(unit)]
        return " ".join(f"{n} {unit if n != 1 else unit[:-1]}" for n, unit in parts)

    def __str__(self) -> str:
        return self.text


def parse_duration(text: str) -> Duration:
    """Read ISO 8601 text in years, months and days, or in weeks alone; at most a hundred years."""
    typed = text.strip().upper()
    found = PATTERN.fullmatch(typed)
    counts = {k: int(v) for k, v in found.groupdict().items() if v} if found else {}
    if not counts:
        raise DurationError(text)
    months = 12 * counts.get("years", 0) + counts.get("months", 0)
    days = 7 * counts.get("weeks", 0) + counts.get("days", 0)
    if months > MOST_MONTHS or days > MOST_DAYS:
        raise DurationError(text, "at most a hundred years")
    return Duration(months, days, typed)
