"""Entries as an iCalendar object (RFC 5545), with the name and the refresh of RFC 7986.

The same entries give the same bytes: every time in it is when a fact was written down, none is
when it was asked for. It asks for no alarm: the due list reminds, a calendar only shows.
"""

import unicodedata
from collections.abc import Iterable
from datetime import UTC, timedelta
from urllib.parse import urlsplit

from icalendar import Calendar, Event, vText

from fleet.reports.calendar import Entry

CONTENT_TYPE = "text/calendar; charset=utf-8"
REFRESH = timedelta(hours=6)


def calendar(name: str, entries: Iterable[Entry], address: str) -> bytes:
    """address: the site's own, `https://host`; its host makes each UID one of its kind."""
    found = Calendar()
    found.add("prodid", "-//Relief Fleet//Due dates and outages//EN")
    found.add("version", "2.0")
    found.add("calscale", "GREGORIAN")
    found.add("name", vText(_text(name)))  # the library takes it for no text
    found.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    host = urlsplit(address).hostname or "localhost"
    for entry in entries:
        found.add_component(_event(entry, host, address.rstrip("/")))
    return found.to_ical(sorted=False)


def _event(entry: Entry, host: str, address: str) -> Event:
    event = Event()
    changed = entry.changed_at.astimezone(UTC).replace(microsecond=0)
    event.add("uid", f"{entry.key}@{host}")
    event.add("dtstamp", changed)
    event.add("last-modified", changed)
    if entry.sequence is not None:
        event.add("sequence", entry.sequence)
    event.add("dtstart", entry.from_on)
    event.add("dtend", entry.until_on)
    event.add("summary", _text(entry.summary))
    event.add("description", _text(entry.description))
    event.add("location", _text(entry.place))
    event.add("url", address + entry.path)
    event.add("status", entry.status)
    event.add("transp", "TRANSPARENT")  # a due date does not make anybody busy
    return event


def _text(words: str) -> str:
    """Without the control characters that a text value may not hold (RFC 5545, 3.1)."""
    return "".join(c for c in words if c in "\n\t" or unicodedata.category(c) != "Cc")
