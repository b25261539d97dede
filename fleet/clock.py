"""The only place that asks what day it is.

Everything below the views takes its day as an argument. The demo plant runs on a stopped clock
(FIXED_TODAY), so that its dates mean the same thing next year.
"""

from datetime import date, datetime, time

from django.conf import settings
from django.utils import timezone


def today() -> date:
    """Today in the site's time zone, or the day at which the clock was stopped."""
    return settings.FIXED_TODAY or timezone.localdate()


def now() -> datetime:
    """This moment, aware; under a stopped clock, this time of day on that day."""
    real = timezone.localtime()
    fixed = settings.FIXED_TODAY
    return real.replace(year=fixed.year, month=fixed.month, day=fixed.day) if fixed else real


def is_stopped() -> bool:
    return settings.FIXED_TODAY is not None


def day_of(moment: datetime) -> date:
    """The day a moment fell on where the site is."""
    return moment.astimezone(timezone.get_current_timezone()).date()


def end_of(day: date) -> datetime:
    """The last moment of a day where the site is."""
    return timezone.make_aware(datetime.combine(day, time.max))
