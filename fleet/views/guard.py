"""Every view names the right it needs, with `@needs(RIGHT)`; the matrix test lists all."""

import json
from functools import wraps

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse, HttpResponseNotAllowed
from django.shortcuts import render

from fleet import permissions

SAFE = ("GET", "HEAD")


def needs(right: str):
    """Signed in and holding `right` at some site; rows are scoped by `.visible_to(user)`.

    Where a row belongs to one site the view asks again with `user.may(right, site_id)`. A page
    that only reads is never sent to: 405.
    """

    def decorate(view):
        @wraps(view)
        def guarded(request, *args, **kwargs):
            if not request.user.is_authenticated:
                return _signed_out(request)
            if not request.user.may(right):
                raise PermissionDenied
            if right == permissions.READ and request.method not in SAFE:
                return HttpResponseNotAllowed(SAFE)
            return view(request, *args, **kwargs)

        guarded.right = right
        return guarded

    return decorate


def _signed_out(request):
    """A page is asked for again after sign-in; what was typed into a form is handed back.

    A part of a page is refused, so that no sign-in page is laid into a page that is being typed on.
    """
    if request.htmx:
        return HttpResponse("You were signed out.", status=401, content_type="text/plain")
    if request.method != "POST":
        return redirect_to_login(request.get_full_path())
    return stale_form(request)


SECRETS = {"csrfmiddlewaretoken", "password", "again"}  # never written into a page


def stale_form(request):
    """What was typed, kept in a form that sends it again once its writer is signed in."""
    kept = [
        (name, value)
        for name, values in request.POST.lists()
        if name not in SECRETS
        for value in values
    ]
    return kept_form(request, kept, request.get_full_path())


def kept_form(request, kept: list[tuple[str, str]], path: str, form=None, status: int = 403):
    """The page that holds what was typed: to sign in on, or, signed in, to send it again.

    form: the sign-in form where it was filled in wrongly.
    """
    context = {"kept": kept, "kept_json": json.dumps(kept), "path": path, "form": form}
    return render(request, "fleet/stale_form.html", context, status=status)


def require(user, right: str, site_id: int | None) -> None:
    """403 unless the user holds the right at this very site."""
    if not user.may(right, site_id):
        raise PermissionDenied


def version_of(request) -> int:
    """The version a form was opened on; 0, which no record has, when it does not say."""
    typed = request.POST.get("version", "")
    return int(typed) if typed.isdecimal() and len(typed) < 10 else 0
