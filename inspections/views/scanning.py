"""What a scanner types into a field: the address in the code of a hand-tag, a device's page."""

from urllib.parse import urlsplit

from django.conf import settings
from django.http import HttpRequest
from django.http.request import split_domain_port, validate_host
from django.urls import Resolver404, resolve

from fleet.faults import Fault, Refused

LOCAL = ["localhost", "127.0.0.1", "[::1]", ".localhost"]  # what a site under DEBUG answers to


def device_scanned(request: HttpRequest, typed: str) -> int | None:
    """The key of the device whose page this address is; None for what is no address.

    Raises Refused for an address of another site, where the key would be another device.
    """
    if not typed.lower().startswith(("http://", "https://")):
        return None
    key = _key(typed)
    if key is None or not _is_ours(request, typed):
        raise Refused([Fault("device", typed, "the code of a hand-tag that this site printed")])
    return key


def _key(typed: str) -> int | None:
    """The address ends in the path of a device's page, whatever stands before it."""
    try:
        path = urlsplit(typed).path
    except ValueError:
        return None
    _, mark, rest = path.rpartition("/devices/")
    try:
        match = resolve(f"{mark}{rest}".rstrip("/") + "/") if mark else None
    except Resolver404:
        return None
    return match.kwargs.get("pk") if match and match.url_name == "device" else None


def _is_ours(request: HttpRequest, typed: str) -> bool:
    host, _ = split_domain_port(urlsplit(typed).netloc)
    named = [split_domain_port(urlsplit(settings.PUBLIC_URL).netloc)[0], *settings.ALLOWED_HOSTS]
    if settings.DEBUG and not settings.ALLOWED_HOSTS:
        named += LOCAL
    here, _ = split_domain_port(request.get_host())
    return bool(host) and validate_host(host, [name for name in (here, *named) if name])
