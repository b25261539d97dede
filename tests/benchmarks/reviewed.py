"""A plant whose devices were overhauled, written as rows: what the settings review reads.

Each device is popped and its lower ring read at every overhaul, found and left. One in thirty
drifts, one in twenty pops high now and then; the rest is found where it was left.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta

from django.core.management.color import no_style
from django.db import connection

from fleet import models as fleet
from inspections import models as bench
from tests.benchmarks import plant

OVERHAULS = 4
BATCH = 5000
BLOCK = 500  # devices written one by one; the others are copies of them
DATUM = "ring touching the disc holder"
JUDGED = {"reference": "150 psig", "band_low": "145.5 psig", "band_high": "154.5 psig"}


def overhaul(positions: Sequence[fleet.Position], *, by: fleet.User) -> None:
    """Give the devices fitted at these positions a model and their overhauls."""
    model = fleet.DeviceModel.objects.create(name=f"Model of {len(positions)}")
    bench.SettingPoint.objects.create(
        model=model, setting="lower_ring", measure="notches", datum=DATUM, resolution="1 notch"
    )
    devices = fleet.Device.objects.filter(site=positions[0].site_id).order_by("pk")
    devices.update(model=model)
    first = _write(devices[:BLOCK], by)
    for start in range(BLOCK, len(positions), BLOCK):
        _copy(first, start)
    verifier, _ = fleet.User.objects.get_or_create(username="verifier", name="Vera Fier")
    bench.Inspection.objects.open().update(locked_at=plant.AT, verified_by=verifier)
    with connection.cursor() as cursor:
        tables = [bench.Inspection, bench.PopTest, bench.SettingReading]
        for sql in connection.ops.sequence_reset_sql(no_style(), tables):
            cursor.execute(sql)


def _write(devices: Iterable[fleet.Device], by: fleet.User) -> range:
    """The first block, row by row. Returns the keys of its records."""
    last = bench.Inspection.objects.order_by("pk").last()
    first = last.pk + 1 if last else 1
    records = [
        bench.Inspection(
            pk=first + n * OVERHAULS + turn,
            ref=f"{device.number}-{turn}",
            site_id=device.site_id,
            device=device,
            activity="overhaul",
            done_on=plant.FIRST_DAY + timedelta(days=60 + turn * 1100 + n % 360),
            method="bench",
            disposition="repaired",
            gauge=f"PG-{n % 40}",
            recorded_at=plant.AT,
            recorded_by=by,
        )
        for n, device in enumerate(devices)
        for turn in range(OVERHAULS)
    ]
    bench.Inspection.objects.bulk_create(records, batch_size=BATCH)
    bench.PopTest.objects.bulk_create(_pops(records), batch_size=BATCH)
    bench.SettingReading.objects.bulk_create(_rings(records), batch_size=BATCH)
    return range(first, first + len(records))


def _copy(block: range, devices: int) -> None:
    """The block again, of devices whose keys are so many higher; in SQL, for speed."""
    by = {"records": devices * OVERHAULS, "rows": devices * OVERHAULS * 2, "devices": devices}
    shifted = {"id": "id + {records}", "device_id": "device_id + {devices}"}
    for model, columns, key in (
        (bench.Inspection, {**shifted, "ref": "ref || '-{devices}'"}, "id"),
        (bench.PopTest, {"id": "id + {rows}", "inspection_id": "inspection_id + {records}"}, ""),
        (
            bench.SettingReading,
            {"id": "id + {rows}", "inspection_id": "inspection_id + {records}"},
            "",
        ),
    ):
        names = [field.column for field in model._meta.concrete_fields]
        values = [columns.get(name, f'"{name}"').format(**by) for name in names]
        quoted = ", ".join(f'"{name}"' for name in names)
        with connection.cursor() as cursor:
            cursor.execute(
                f'INSERT INTO "{model._meta.db_table}" ({quoted}) SELECT {", ".join(values)}'
                f' FROM "{model._meta.db_table}"'
                f" WHERE {key or 'inspection_id'} BETWEEN {block.start} AND {block.stop - 1}"
            )


def _pops(records) -> Iterator[bench.PopTest]:
    for number, record in enumerate(records):
        is_high = number % 20 == 7
        pressure = "157 psig" if is_high else f"{149 + number * 7 % 3} psig"
        verdict = "high" if is_high else "in"
        yield bench.PopTest(
            inspection=record, stage="as_found", pressure=pressure, verdict=verdict, **JUDGED
        )
        yield bench.PopTest(inspection=record, stage="as_left", pressure="150 psig", **JUDGED)


def _rings(records) -> Iterator[bench.SettingReading]:
    for number, record in enumerate(records):
        device = number // OVERHAULS
        moved = 6 if device % 30 == 3 else number * 7 % 3 - 1
        for stage, value in (("as_found", -9 + moved), ("as_left", -9)):
            yield bench.SettingReading(
                inspection=record,
                setting="lower_ring",
                stage=stage,
                value=f"{value} notches",
                datum=DATUM,
            )
