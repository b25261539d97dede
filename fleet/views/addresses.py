"""The site's own address, as people in the plant reach it."""

from django.conf import settings
from django.http import HttpRequest


def site_address(request: HttpRequest) -> str:
    """`https://host`, without a slash at its end: PUBLIC_URL, else the address that was asked."""
    return (settings.PUBLIC_URL or request.build_absolute_uri("/")).rstrip("/")
