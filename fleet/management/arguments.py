"""What the commands of lists are asked with, read alike; what cannot be read says so and stops."""

from datetime import date

from django.core.management.base import CommandError

from fleet import clock
from fleet.forms import FIRST_YEAR, LAST_YEAR
from fleet.models import Site, User


def day(typed: str | None, name: str = "--as-of") -> date:
    """Today where nothing is typed."""
    if not typed:
        return clock.today()
    expected = (
        f"{name} “{typed}”: a day such as 2026-10-31, from {FIRST_YEAR} to {LAST_YEAR},"
        " was expected"
    )
    try:
        found = date.fromisoformat(typed)
    except ValueError as error:
        raise CommandError(expected) from error
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise CommandError(expected)
    return found


def past_day(typed: str | None, name: str = "--as-of") -> date:
    """A day that has come: of one to come nobody can say what will have been true."""
    found = day(typed, name)
    if found > clock.today():
        raise CommandError(f"{name} “{typed}”: a day that is not in the future was expected")
    return found


def user(typed: str | None) -> User | None:
    if not typed:
        return None
    found = User.objects.filter(username=typed).first()
    if found is None:
        raise CommandError(f"--by “{typed}”: nobody signs in with this name")
    return found


def site(typed: str | None) -> int | None:
    if not typed:
        return None
    found = Site.objects.filter(name=typed).first()
    if found is None:
        known = ", ".join(Site.objects.values_list("name", flat=True)) or "none yet"
        raise CommandError(f"--site “{typed}”: no such site; there is {known}")
    return found.pk
