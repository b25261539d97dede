"""Words and figures as pages say them."""

from decimal import Decimal
from fractions import Fraction

from django import template

from fleet.drawings.words import percent_words
from fleet.reports.due import DueRow
from fleet.reports.reasons import activity_words, with_day_words
from fleet.tables import due as due_table

register = template.Library()


@register.filter
def activity(slug: str) -> str:
    """`in_place_test` as `in-place test`."""
    return activity_words(slug)


@register.filter
def hours(value: Decimal | None) -> str:
    """`12.5`, without zeros nobody typed; `not given` for None, which is never nought."""
    return "not given" if value is None else f"{value.normalize():f}"


@register.filter
def percent(value: Decimal) -> str:
    """`+1.20 %`, the sign always written."""
    return percent_words(Fraction(value), 2)


@register.filter
def days_said(sentence: str) -> str:
    """A sentence with its ISO days written `14 Oct 2026`."""
    return with_day_words(sentence)


@register.filter
def slug_words(slug: str) -> str:
    """`lower_ring` as `lower ring`."""
    return slug.replace("_", " ")


@register.filter
def status_words(row: DueRow) -> str:
    """`overdue 41 days`, as the due list says it."""
    return due_table.status_words(row)
