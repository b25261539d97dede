"""How many past days are kept: a few, so that what is kept stays bounded.

A kept day has as many rows as today's review has. Another one takes the place of the one that was
made longest ago; whoever asks for that again has it made again.
"""

from django.db.models import QuerySet

from inspections.models import FlagState, Screening, SettingState

DAYS = 3
BATCH = 5000


def make_room(fresh: Screening) -> None:
    """Let go of what is kept of past days beyond the last few."""
    others = Screening.objects.exclude(day=None).exclude(pk=fresh.pk)
    for gone in others.order_by("-made_at", "-pk")[DAYS - 1 :]:
        _empty(FlagState.objects.filter(state__screening=gone))
        _empty(SettingState.objects.filter(screening=gone))
        gone.delete()


def _empty(rows: QuerySet) -> None:
    while keys := list(rows.values_list("pk", flat=True)[:BATCH]):
        rows.filter(pk__in=keys).delete()
