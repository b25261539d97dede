"""Every view names the right it needs, with `@needs(RIGHT)`; the matrix test lists all."""

from functools import wraps

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied


def needs(right: str):
    """Signed in and holding `right` at some site; rows are scoped by `.visible_to(user)`.

    Where a row belongs to one site the view asks again with `user.may(right, site_id)`.
    """

    def decorate(view):
        @wraps(view)
        def guarded(request, *args, **kwargs):
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            if not request.user.may(right):
                raise PermissionDenied
            return view(request, *args, **kwargs)

        guarded.right = right
        return guarded

    return decorate


def require(user, right: str, site_id: int | None) -> None:
    """403 unless the user holds the right at this very site."""
    if not user.may(right, site_id):
        raise PermissionDenied
