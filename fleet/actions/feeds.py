"""Private addresses of calendars: made for one person and one site, and taken back."""

import secrets
from datetime import datetime
from hashlib import sha256

from fleet import audit
from fleet.models import Feed, Site, User

SECRET_BYTES = 32


def digest_of(secret: str) -> str:
    """What is kept of a secret. It is random enough that its digest alone gives nothing away."""
    return sha256(secret.encode()).hexdigest()


@audit.writing()
def make_feed(user: User, site: Site, *, by: User, at: datetime) -> tuple[Feed, str]:
    """A new address, and its secret, which is kept nowhere: show it now or never."""
    secret = secrets.token_urlsafe(SECRET_BYTES)
    feed = Feed.objects.create(user=user, site=site, digest=digest_of(secret), made_at=at)
    audit.record([audit.change("calendar address made", feed)], by=by, at=at)
    return feed, secret


@audit.writing()
def revoke_feed(feed: Feed, *, by: User, at: datetime) -> None:
    """From now on the address answers nothing. Revoked already, nothing changes."""
    feed.refresh_from_db()
    if feed.revoked_at is not None:
        return
    feed.revoked_at = at
    feed.save()
    audit.record([audit.change("calendar address revoked", feed)], by=by, at=at)
