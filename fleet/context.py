"""What every page shows around its content."""

from fleet import clock


def site(request):
    """The stopped clock, if it is stopped, and whose sites these are."""
    return {"stopped_clock": clock.today() if clock.is_stopped() else None}
