"""The kept review of a big plant, most of it copied in SQL from its first devices.

A fleet is stated at some 150 devices a second, 100,000 in a quarter of an hour. Here the first
`BLOCK` of them are stated as the product does, and their kept rows are written again for every
block after them, with the copied device's own home, site, unit, model and tag; each device has its
own rows and its own flags. The records are copies of the same block, so that stating them would
give the same: `differing` asks that of a sample. The fleet is then screened and weighed as the
product does.
"""

from collections.abc import Sequence
from datetime import date, datetime

from django.db import connection
from django.db.models import QuerySet

from fleet import clock
from fleet.models import AuditHead, Device
from inspections.kept.catching_up import BUDGET
from inspections.kept.screened import screen_fleet
from inspections.kept.stating import state_devices
from inspections.kept.weighing import weigh
from inspections.models import FlagState, Screening, SettingState
from tests.benchmarks.reviewed import BLOCK, restart_keys

TURN = 500
SAMPLE = 40
PLACE = "fleet_installation i JOIN fleet_position p ON p.id = i.position_id WHERE i.device_id ="
TOLD = {
    "home_id": "(SELECT site_id FROM fleet_device WHERE id = {device})",
    "model_id": "(SELECT model_id FROM fleet_device WHERE id = {device})",
    "site_id": f"(SELECT p.site_id FROM {PLACE} {{device}})",
    "unit_id": f"(SELECT p.unit_id FROM {PLACE} {{device}})",
    "tag": f"(SELECT p.tag FROM {PLACE} {{device}})",
}


def state_copied(devices: Sequence[int], *, at: datetime, day: date | None = None) -> None:
    """Keep the review of these devices, which stand in blocks, and screen everything kept. `day`:
    of a past day; None = of today."""
    kept = _screening(at, day)
    day = day or clock.day_of(at)
    for keys in _turns(devices[:BLOCK]):
        state_devices(kept, keys, day)
        weigh(kept, keys)
    states = SettingState.objects.filter(screening=kept, device__in=devices[:BLOCK])
    for start in range(BLOCK, len(devices), BLOCK):
        _copy(states, devices[start] - devices[0], start // BLOCK)
    restart_keys([SettingState, FlagState])
    for keys in _turns(sorted(screen_fleet(kept, day))):
        weigh(kept, keys)
    head = AuditHead.objects.get()
    kept.entry = kept.screened = head.number
    kept.digest, kept.made_at = head.digest, at
    kept.save()


def differing(devices: Sequence[int], *, at: datetime) -> int:
    """How many kept rows of a sample of these devices change when they are stated in earnest."""
    sample = list(devices[:: max(1, len(devices) // SAMPLE)])
    before = _kept(sample)
    kept = _screening(at, None)
    state_devices(kept, sample, clock.day_of(at))
    weigh(kept, sample)
    after = _kept(sample)
    return len(before ^ after)


def _screening(at: datetime, day: date | None) -> Screening:
    nothing = {"entry": 0, "made_at": at, "budget": BUDGET}
    return Screening.objects.get_or_create(day=day, defaults=nothing)[0]


def _kept(devices: Sequence[int]) -> set[str]:
    states = SettingState.objects.filter(device__in=devices).values()
    flags = FlagState.objects.filter(state__device__in=devices).values()
    return {str(row) for row in (*states, *flags)}


def _copy(states: QuerySet[SettingState], devices: int, block: int) -> None:
    """The kept rows of the block again for devices whose keys are so many higher."""
    first, last = states.order_by("pk").first().pk, states.order_by("-pk").first().pk
    shift = block * (last - first + 1)
    device = f"b.device_id + {devices}"
    told = {name: sql.format(device=device) for name, sql in TOLD.items()}
    columns = {"id": f"id + {shift}", "device_id": device, **told}
    _insert(SettingState, columns, f"id BETWEEN {first} AND {last}")
    # A setting shows a few flags at most, so that a shifted key is free.
    top = FlagState.objects.order_by("-pk").first()
    lowest = FlagState.objects.filter(state__in=states).order_by("pk").first()
    if top is not None and lowest is not None:
        columns = {
            "id": f"id + {top.pk - lowest.pk + 1}",
            "state_id": f"state_id + {shift}",
            "acknowledgement_id": "NULL",
        }
        _insert(FlagState, columns, f"state_id BETWEEN {first} AND {last}")


def _insert(model, columns: dict[str, str], where: str) -> None:
    names = [field.column for field in model._meta.concrete_fields]
    values = [columns.get(name, f'"{name}"') for name in names]
    quoted = ", ".join(f'"{name}"' for name in names)
    table = model._meta.db_table
    with connection.cursor() as cursor:
        cursor.execute(
            f'INSERT INTO "{table}" ({quoted}) SELECT {", ".join(values)} FROM "{table}" b'
            f" WHERE {where}"
        )


def _turns(keys: Sequence[int]):
    for start in range(0, len(keys), TURN):
        yield keys[start : start + TURN]


def devices_of(sites: Sequence[int]) -> list[int]:
    rows = Device.objects.filter(site__in=sites).order_by("pk")
    return list(rows.values_list("pk", flat=True))
