"""The order of the kept list: how much weighs on each setting, and on its whole device."""

from collections import defaultdict
from collections.abc import Collection

from inspections.models import FlagState, Screening, SettingState
from inspections.reports.settings import weight_of

COLUMNS = ("is_flagged", "weight", "device_weight")
BATCH = 1000


def weigh(kept: Screening, devices: Collection[int]) -> None:
    """Weigh every setting of these devices by its flags; what was answered weighs nothing."""
    flags = defaultdict(list)
    for flag in FlagState.objects.filter(state__screening=kept, state__device__in=devices):
        flags[flag.state_id].append(flag)
    states = list(SettingState.objects.filter(screening=kept, device__in=devices))
    weights = {state.pk: sum(map(_weight, flags[state.pk])) for state in states}
    together: dict[int, int] = defaultdict(int)
    for state in states:
        together[state.device_id] += weights[state.pk]
    changed = []
    for state in states:
        said = (bool(flags[state.pk]), weights[state.pk], together[state.device_id])
        if said != (state.is_flagged, state.weight, state.device_weight):
            state.is_flagged, state.weight, state.device_weight = said
            changed.append(state)
    SettingState.objects.bulk_update(changed, COLUMNS, batch_size=BATCH)


def _weight(flag: FlagState) -> int:
    return 0 if flag.acknowledgement_id else weight_of(flag.code, flag.reasons)
