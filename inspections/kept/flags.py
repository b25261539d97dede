"""Flags as they are kept: written where they changed, with whoever has answered them."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from fleet import clock
from inspections.models import Acknowledgement, FlagState, Screening

BATCH = 1000


@dataclass(frozen=True)
class Wanted:
    """A flag that is to stand; `key` is (device, setting, code)."""

    state: int
    key: tuple[int, str, str]
    reasons: Sequence[str]
    fingerprint: str


def write_flags(
    kept: Screening,
    wanted: Sequence[Wanted],
    *,
    states: Iterable[int] | None,
    is_statistic: bool,
) -> set[int]:
    """Make the flags of this kind on these states of one screening (None = on all of it) exactly
    the wanted ones.

    Returns the devices on which one was raised, changed or taken away.
    """
    there = {(flag.state_id, flag.code): flag for flag in _there(kept, states, is_statistic)}
    answers = _answers(kept, {one.key[0] for one in wanted})
    touched, changed, fresh = set(), [], []
    for one in wanted:
        flag = there.pop((one.state, one.key[2]), None)
        said = (list(one.reasons), one.fingerprint, answers.get((*one.key, one.fingerprint)))
        if flag is None:
            flag = FlagState(state_id=one.state, code=one.key[2], is_statistic=is_statistic)
            fresh.append(flag)
        elif (flag.reasons, flag.fingerprint, flag.acknowledgement_id) == said:
            continue
        else:
            changed.append(flag)
        flag.reasons, flag.fingerprint, flag.acknowledgement_id = said
        touched.add(one.key[0])
    gone = list(there.values())
    touched |= {flag.state.device_id for flag in gone}
    for keys in _batches([flag.pk for flag in gone]):
        FlagState.objects.filter(pk__in=keys).delete()
    FlagState.objects.bulk_create(fresh, batch_size=BATCH)
    columns = ["reasons", "fingerprint", "acknowledgement"]
    FlagState.objects.bulk_update(changed, columns, batch_size=BATCH)
    return touched


def _there(
    kept: Screening, states: Iterable[int] | None, is_statistic: bool
) -> Iterator[FlagState]:
    rows = FlagState.objects.filter(state__screening=kept, is_statistic=is_statistic)
    rows = rows.select_related("state")
    if states is None:
        yield from rows.iterator(BATCH)
        return
    for keys in _batches(sorted(states)):
        yield from rows.filter(state__in=keys)


def _answers(kept: Screening, devices: set[int]) -> dict[tuple[int, str, str, str], int]:
    """Answers that were given by the end of a past day; of today, all."""
    given = Acknowledgement.objects.all()
    if kept.day:
        given = given.filter(recorded_at__lte=clock.end_of(kept.day))
    found = {}
    for keys in _batches(sorted(devices)):
        rows = given.filter(device__in=keys)
        for *key, pk in rows.values_list("device", "setting", "code", "fingerprint", "pk"):
            found[tuple(key)] = pk
    return found


def _batches(keys: list[int]) -> Iterator[list[int]]:
    for start in range(0, len(keys), BATCH):
        yield keys[start : start + BATCH]
