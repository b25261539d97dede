"""What the tests of the shapes start from, and the calendar of another library to hold them to."""

from datetime import date, timedelta
from fractions import Fraction

from dateutil.relativedelta import relativedelta
from hypothesis import strategies as st

from fleet.calc.durations import Duration, parse_duration
from fleet.calc.intervals import Known, Reading, Trigger

DAYS = st.dates(date(1890, 1, 1), date(2290, 12, 31))  # four hundred years of leap days
GAPS = st.sampled_from(["P6W", "P92D", "P1M", "P7M15D", "P12M", "P15M", "P39M", "P5Y"]).map(
    parse_duration
)
HISTORIES = st.lists(DAYS, min_size=1, max_size=8, unique=True).map(sorted)


def day(text: str) -> date:
    return date.fromisoformat(text)


def days(*texts: str) -> list[date]:
    return [day(text) for text in texts]


def plus(anchor: date, duration: Duration) -> date:
    """The anchor and a duration by dateutil: months clamp to the month's end, then the days."""
    return anchor + relativedelta(months=duration.months) + timedelta(duration.days)


def minus(anchor: date, duration: Duration) -> date:
    return anchor - relativedelta(months=duration.months) - timedelta(duration.days)


def read(*readings: tuple[str, int | str], counter: str = "service_days") -> Known:
    """What is known with these readings of one counter."""
    return Known(readings=[Reading(counter, day(on), Fraction(value)) for on, value in readings])


def happened(*triggers: tuple[str, str]) -> Known:
    """What is known after these triggers, (kind, day) each."""
    return Known(triggers=[Trigger(kind, day(on)) for kind, on in triggers])
