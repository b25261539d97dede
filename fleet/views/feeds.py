"""The calendar: a private address that a calendar program reads, and the page where people keep
theirs. The secret in the address is the whole key, so that the answer says as little as it can."""

from hmac import compare_digest

from django.db.models import Q
from django.http import HttpResponse, HttpResponseNotFound
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from fleet import clock, permissions
from fleet.actions.feeds import digest_of, make_feed, revoke_feed
from fleet.models import Feed, Site, User
from fleet.papers.calendar import CONTENT_TYPE
from fleet.papers.calendar import calendar as calendar_of
from fleet.reports.calendar import entries_of, feed_of
from fleet.views.addresses import site_address
from fleet.views.guard import needs, require


@require_safe
def calendar(request, secret):
    """The calendar itself, to whoever holds the address: no sign-in, no cookie, no trace of why
    an address is unknown."""
    digest = digest_of(secret)
    feed = feed_of(digest)
    if feed is None or not compare_digest(feed.digest, digest):
        return HttpResponseNotFound("There is no calendar here.\n", content_type="text/plain")
    name = f"Relief Fleet, {feed.site}"
    entries = entries_of(feed, clock.today())
    answer = HttpResponse(calendar_of(name, entries, site_address(request)), CONTENT_TYPE)
    answer["Content-Disposition"] = 'inline; filename="relief-fleet.ics"'
    answer["Cache-Control"] = "private, no-cache"
    answer["X-Content-Type-Options"] = "nosniff"
    answer["X-Robots-Tag"] = "noindex"
    return answer


@needs(permissions.READ)
def feeds(request):
    """Whose calendar addresses there are: one's own, and of a site that one keeps, everybody's."""
    return _page(request)


def _page(request, fresh: Feed | None = None, secret: str = "") -> HttpResponse:
    rows = _within_reach(request.user).select_related("user", "site").order_by("-made_at", "-pk")
    address = site_address(request) + reverse("calendar", args=[secret]) if secret else ""
    context = {
        "standing": [row for row in rows if row.revoked_at is None],
        "revoked": [row for row in rows if row.revoked_at is not None],
        "sites": Site.objects.visible_to(request.user).order_by("name"),
        "fresh": fresh,
        "address": address,
    }
    return render(request, "fleet/feeds.html", context)


def _within_reach(user: User):
    kept = [pk for pk in user.site_ids() if user.may(permissions.MANAGE_PEOPLE, pk)]
    return Feed.objects.visible_to(user).filter(Q(user=user) | Q(site__in=kept))


@needs(permissions.MAKE_CALENDAR)
@require_POST
def feed_new(request):
    """A new address; its secret is in this answer and nowhere else."""
    key = request.POST.get("site", "")
    sites = Site.objects.visible_to(request.user)
    site = get_object_or_404(sites, pk=int(key) if key.isdecimal() and len(key) < 19 else 0)
    require(request.user, permissions.MAKE_CALENDAR, site.pk)
    feed, secret = make_feed(request.user, site, by=request.user, at=clock.now())
    answer = _page(request, feed, secret)
    answer["Cache-Control"] = "no-store"
    return answer


@needs(permissions.MAKE_CALENDAR)
@require_POST
def feed_revoke(request, pk):
    """Close an address: its owner may, and whoever keeps the people of its site."""
    feed = get_object_or_404(Feed.objects.visible_to(request.user), pk=pk)
    if feed.user_id != request.user.pk:
        require(request.user, permissions.MANAGE_PEOPLE, feed.site_id)
    revoke_feed(feed, by=request.user, at=clock.now())
    return redirect("feeds")
