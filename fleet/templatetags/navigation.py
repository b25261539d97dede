"""The doors of the site, and which of them the reader stands behind."""

from dataclasses import dataclass

from django import template
from django.urls import reverse

register = template.Library()

DOORS = (
    ("due_list", "Due list"),
    ("outage_list", "Outages"),
    ("bench", "Bench"),
    ("settings_review", "Settings review"),
    ("compliance_list", "Compliance"),
    ("register", "Register"),
    ("rules", "Rules"),
)
# How an address begins: its door.
BEHIND = {
    "tolerances": "rules",
    "devices": "register",
    "groups": "due_list",
    "plans": "outage_list",
    "plan-jobs": "outage_list",
    "calendars": "outage_list",
}


@dataclass(frozen=True)
class Door:
    url: str
    words: str
    is_here: bool


@register.simple_tag
def doors(path: str) -> list[Door]:
    """The navigation for a page at `path`; the door with the longest matching address is here."""
    addresses = [reverse(name) for name, _ in DOORS]
    path = reverse(BEHIND[first]) if (first := path.split("/")[1]) in BEHIND else path
    matching = [url for url in addresses if path == url or (url != "/" and path.startswith(url))]
    here = max(matching, key=len, default=None)
    return [Door(url, words, url == here) for url, (_, words) in zip(addresses, DOORS, strict=True)]
