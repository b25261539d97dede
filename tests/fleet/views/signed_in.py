"""Somebody signed in, for tests of pages."""

from html import unescape

from django.test import Client
from django.utils.html import strip_tags

from tests import factories


def signed_in(role: str, *sites, user=None) -> Client:
    """A client of a person with this role at these sites."""
    user = user or factories.UserFactory()
    for site in sites:
        factories.MembershipFactory(user=user, site=site, role=role)
    client = Client()
    client.force_login(user)
    client.user = user
    return client


def text(response) -> str:
    return response.content.decode()


def streamed(response) -> bytes:
    return b"".join(response.streaming_content) if response.streaming else response.content


def words(response) -> str:
    """What the page says, without its marks."""
    return " ".join(unescape(strip_tags(response.content.decode())).split())
