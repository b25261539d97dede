"""What the cells of several lists share."""

from datetime import date

from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from fleet.drawings.axis import day_words
from fleet.reports.proposals import Pending


def cells(css: str) -> dict[str, dict[str, str]]:
    """The class of a column's cells and head."""
    return {"td": {"class": css}, "th": {"class": css}}


def days_words(days: int) -> str:
    return f"{abs(days)} day{'' if abs(days) == 1 else 's'}"


def day(on: date) -> SafeString:
    return format_html('<time datetime="{}">{}</time>', on.isoformat(), day_words(on))


def link(name: str, pk: int, words: object) -> SafeString:
    return format_html('<a href="{}">{}</a>', reverse(name, args=[pk]), words)


def proposed(pending: Pending | None) -> SafeString | str:
    """An open proposal beneath a state, with its age: a link to where it is answered."""
    if pending is None:
        return ""
    words = link("proposal", pending.pk, str(pending).capitalize())
    return format_html('<small class="soon">{}</small>', words)


def tag(name: str, pk: int, words: object, *beneath: str) -> SafeString:
    """The first cell of a row: what it is about, and where that is; no part of it breaks."""
    parts = format_html_join(
        ", ", '<span class="nowrap">{}</span>', ((part,) for part in beneath if part)
    )
    url = reverse(name, args=[pk])
    return format_html('<a class="tag" href="{}">{}</a><small>{}</small>', url, words, parts)
