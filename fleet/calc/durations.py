"""Intervals as law writes them: months first, then days, always from the anchor."""

import re
from calendar import monthrange
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache

from fleet.calc.quantities import UnitsError

MAX_YEARS = 200
_EXPECTED = (
    "an ISO 8601 duration such as P5Y, P15M, P7M15D or P6W (weeks stand alone),"
    f" up to P{MAX_YEARS}Y"
)
_ISO = re.compile(
    r"P(?=[0-9])(?:(?:([0-9]{1,5})Y)?(?:([0-9]{1,5})M)?(?:([0-9]{1,5})D)?|([0-9]{1,5})W)"
)
_FOUR_YEARS = [date(2021, 1, 1) + timedelta(days=number) for number in range(1461)]
_NAMES = ("year", "month", "day", "week")


@dataclass(frozen=True, slots=True)
class Duration:
    """Whole months, then whole days. P12M equals P1Y; `text` keeps what was typed."""

    months: int
    days: int
    text: str = field(compare=False)

    def after(self, day: date) -> date:
        """`day` + months (clamped to the month's end), then + days. Raises UnitsError past 9999."""
        year, month = divmod(day.year * 12 + day.month - 1 + self.months, 12)
        try:
            last = monthrange(year, month + 1)[1]
            return date(year, month + 1, min(day.day, last)) + timedelta(days=self.days)
        except (OverflowError, ValueError) as error:
            raise UnitsError(self.text, f"a duration that the calendar holds from {day}") from error

    def before(self, day: date) -> date:
        """`day` - months (clamped to the month's end), then - days. Raises UnitsError before 1."""
        try:
            return Duration(-self.months, -self.days, self.text).after(day)
        except UnitsError as error:
            raise UnitsError(self.text, f"a duration that the calendar holds to {day}") from error

    def exceeds(self, other: "Duration") -> bool:
        """Whether it is longer than another from some day of four years: months are not days."""
        if self.months == other.months:
            return self.days > other.days
        if self.days == other.days:
            return self.months > other.months
        return _is_longer(self, other)

    @property
    def words(self) -> str:
        """As typed, in words: "15 months", "7 months 15 days"."""
        return " ".join(
            f"{number} {name}{'' if number == 1 else 's'}"
            for number, name in zip(_parts(self.text), _NAMES, strict=True)
            if number is not None
        )

    def __str__(self) -> str:
        return self.text


@lru_cache(maxsize=1024)
def _is_longer(one: Duration, other: Duration) -> bool:
    return any(one.after(day) > other.after(day) for day in _FOUR_YEARS)


@lru_cache(maxsize=1024)
def _duration(text: str) -> Duration:
    years, months, days, weeks = (number or 0 for number in _parts(text))
    if years * 12 + months > MAX_YEARS * 12 or weeks * 7 + days > MAX_YEARS * 366:
        raise UnitsError(text, _EXPECTED)
    return Duration(years * 12 + months, weeks * 7 + days, text)


def _parts(text: str) -> list[int | None]:
    """Years, months, days and weeks as typed, None where not given."""
    match = _ISO.fullmatch(text)
    if not match:
        raise UnitsError(text, _EXPECTED)
    return [None if number is None else int(number) for number in match.groups()]


def parse_duration(text: str) -> Duration:
    """Read an ISO 8601 duration: years, months and days, or weeks alone. Raises UnitsError."""
    return _duration(text.strip())
