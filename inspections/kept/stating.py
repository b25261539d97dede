"""What the review of a day says of some devices, written down: settings and flags that are facts.

The rows are those of `inspections.reports.settings.review`, so a page and what is kept cannot
differ. Only rows that changed are written; a setting that is no longer told loses its state.
"""

from collections.abc import Collection, Iterable, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from fleet.models import Device
from inspections.actions.acknowledge import fingerprint_of_fact
from inspections.calc.verdicts import round_half_away
from inspections.kept.flags import Wanted, write_flags
from inspections.models import Screening, SettingState
from inspections.reports.settings import SettingRow, review

BATCH = 1000
# What is flagged and weighs how much `weighing` writes, statistics among it.
STATED = (
    *(
        "home_id",
        "site_id",
        "unit_id",
        "model_id",
        "service",
        "tag",
        "visits",
        "first_on",
        "device_far",
    ),
    *("family", "changes", "per_year", "variance", "spread", "at_floor"),
    *("moved", "resets", "reset_of"),
)


def state_devices(kept: Screening, devices: Collection[int], as_of: date) -> None:
    """Write what is said of these devices that day; without statistics, and not yet weighed."""
    rows = review(as_of, Device.objects.filter(pk__in=devices))
    states = _write_states(kept, devices, rows)
    wanted = [
        Wanted(
            states[row.device_id, row.setting],
            (row.device_id, row.setting, flag.code),
            flag.reasons,
            fingerprint_of_fact(flag.code, flag.reasons),
        )
        for row in rows
        for flag in row.raised
    ]
    write_flags(kept, wanted, states=set(states.values()), is_statistic=False)


def _write_states(
    kept: Screening, devices: Collection[int], rows: Sequence[SettingRow]
) -> dict[tuple[int, str], int]:
    """The primary key of each state by device and setting."""
    there = {
        (state.device_id, state.setting): state
        for state in SettingState.objects.filter(screening=kept, device__in=devices)
    }
    said = {(row.device_id, row.setting): fields for row, fields in _fields(rows)}
    gone = [state.pk for key, state in there.items() if key not in said]
    if gone:
        SettingState.objects.filter(pk__in=gone).delete()
    changed, fresh = [], []
    for key, fields in said.items():
        state = there.get(key)
        if state is None:
            new = {"screening": kept, "device_id": key[0], "setting": key[1]}
            fresh.append(SettingState(**new, **fields))
        elif _write(state, fields):
            changed.append(state)
    SettingState.objects.bulk_create(fresh, batch_size=BATCH)
    SettingState.objects.bulk_update(changed, [_plain(name) for name in STATED], batch_size=BATCH)
    stayed = [state for key, state in there.items() if key in said]
    return {(state.device_id, state.setting): state.pk for state in (*stayed, *fresh)}


def _write(state: SettingState, fields: dict[str, Any]) -> bool:
    """Whether anything is another than it was."""
    before = {name: getattr(state, name) for name in STATED}
    for name, value in fields.items():
        setattr(state, name, value)
    return before != fields


def _plain(name: str) -> str:
    return name.removesuffix("_id")


def _fields(rows: Sequence[SettingRow]) -> Iterable[tuple[SettingRow, dict[str, Any]]]:
    far: dict[int, Decimal] = {}
    for row in rows:
        out = abs(row.one.last_deviation or Fraction(0))
        far[row.device_id] = max(far.get(row.device_id, Decimal(0)), round_half_away(out, 4))
    for row in rows:
        numbers = row.numbers
        yield (
            row,
            {
                "home_id": row.history.device.site_id,
                "site_id": row.site_id,
                "unit_id": row.stand.unit if row.stand else None,
                "model_id": row.model_id,
                "service": row.stand.fluid if row.stand else "",
                "tag": row.tag,
                "visits": row.n,
                "first_on": row.one.overhauls[0].on,
                "device_far": far[row.device_id],
                **vars(numbers),
                "moved": [list(move) for move in numbers.moved],
            },
        )
