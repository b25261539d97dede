"""What is kept of a day, and what making it again from the ground up gives."""

from django.db import transaction

from inspections.kept.catching_up import restate
from inspections.models import FlagState, Screening, SettingState


class Undo(Exception):
    pass


def kept(day=None):
    """Everything that is kept of a day (None = of today), without keys that only count rows."""
    leave = {"id", "made_at", "screening_id"}
    states = SettingState.objects.filter(screening__day=day).order_by("device", "setting")
    flags = FlagState.objects.filter(state__screening__day=day)
    said = ("reasons", "is_statistic", "fingerprint", "acknowledgement")
    order = ("state__device", "state__setting", "code")
    screening = Screening.objects.filter(day=day).values().get()
    return {
        "states": [{k: v for k, v in row.items() if k not in leave} for row in states.values()],
        "flags": list(flags.order_by(*order).values(*order, *said)),
        "screening": {k: v for k, v in screening.items() if k not in leave},
    }


def from_the_ground_up(at, day=None):
    """What a full restating gives; it is undone."""
    try:
        with transaction.atomic():
            FlagState.objects.all().delete()
            SettingState.objects.all().delete()
            restate(at=at, day=day)
            found = kept(day)
            raise Undo
    except Undo:
        return found
