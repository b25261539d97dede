"""The doors: coming in, going out, and what is said when a request cannot be served."""

from django.db import OperationalError
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from fleet.views.guard import stale_form

BUSY = ("locked", "lock timeout", "deadlock")  # SQLite's word, then PostgreSQL's


class BusyDatabaseMiddleware:
    """A writer who waited too long for his turn is told so: ask to try again shortly."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_exception(self, request, exception):
        busy = any(word in str(exception) for word in BUSY)
        if isinstance(exception, OperationalError) and busy:
            return HttpResponse(
                "The database is busy. Nothing was changed; try again in a moment.",
                status=503,
                headers={"Retry-After": "2"},
                content_type="text/plain",
            )
        return None


def csrf_failure(request, reason=""):
    """The form's token is stale: what was typed comes back, to be sent again."""
    if request.path == reverse("sign_in"):
        return redirect("sign_in")  # nothing was typed but a name and a password
    return stale_form(request)
