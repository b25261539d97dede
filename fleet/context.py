"""What every page shows around its content."""

from fleet import clock, permissions
from fleet.models import Site


def site(request):
    """The stopped clock, if it is stopped; the reader's role and sites, asked only when shown."""
    user = getattr(request, "user", None)
    is_known = user is not None and user.is_authenticated
    return {
        "stopped_clock": clock.today() if clock.is_stopped() else None,
        "site_words": _site_words(user) if is_known else "",
        "keeps_people": is_known and user.may(permissions.MANAGE_PEOPLE),
    }


def _site_words(user) -> str:
    names = list(Site.objects.visible_to(user).values_list("name", flat=True)[:2])
    where = names[0] if len(names) == 1 else "several sites" if names else "no site yet"
    return f"{user.main_role()}, {where}".strip(", ")
