"""A plant whose devices were overhauled, written as rows: what the settings review reads.

Each device is popped and its lower ring read at every overhaul, found and left. One in thirty
drifts, one in twenty pops high now and then; the rest is found where it was left. The plant is
spread over sites, models and services; a site has whole units.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta

from django.core.management.color import no_style
from django.db import connection
from django.db.models import F

from fleet import models as fleet
from inspections import models as bench
from tests.benchmarks import plant

OVERHAULS = 4
BATCH = 5000
BLOCK = 500  # devices written one by one; the others are copies of them
SITES, MODELS = 4, 20
SERVICES = ("steam", "air", "nitrogen", "naphtha", "fuel gas")
DATUM = "ring touching the disc holder"
HOME = "(SELECT d.site_id FROM fleet_device d WHERE d.id = device_id + {devices})"
JUDGED = {"reference": "150 psig", "band_low": "145.5 psig", "band_high": "154.5 psig"}


def overhaul(positions: Sequence[fleet.Position], *, by: fleet.User) -> None:
    """Give the devices fitted at these positions models, services and their overhauls."""
    site = positions[0].site
    devices = fleet.Device.objects.filter(site=site).order_by("pk")
    keys = list(devices.values_list("pk", flat=True))
    _spread(site, len(positions))
    first = _write(fleet.Device.objects.filter(pk__in=keys[:BLOCK]).order_by("pk"), by)
    for start in range(BLOCK, len(positions), BLOCK):
        _copy(first, start)
    verifier, _ = fleet.User.objects.get_or_create(username="verifier", name="Vera Fier")
    bench.Inspection.objects.open().update(locked_at=plant.AT, verified_by=verifier)
    restart_keys([bench.Inspection, bench.PopTest, bench.SettingReading])


def restart_keys(tables: Sequence[type]) -> None:
    """Have the database number new rows after those whose keys were given."""
    with connection.cursor() as cursor:
        for sql in connection.ops.sequence_reset_sql(no_style(), tables):
            cursor.execute(sql)


def sites_of(count: int) -> list[fleet.Site]:
    """The sites of a plant of so many positions."""
    return list(fleet.Site.objects.filter(name__startswith=f"Plant of {count}").order_by("pk"))


def _spread(site: fleet.Site, count: int) -> None:
    """Unit by unit over some sites, device by device over models, position by position over
    services."""
    every = fleet.Device.objects.filter(site=site)
    for n in range(MODELS):
        model = fleet.DeviceModel.objects.create(name=f"Model {n} of {count}")
        bench.SettingPoint.objects.create(
            model=model, setting="lower_ring", measure="notches", datum=DATUM, resolution="1 notch"
        )
        every.annotate(turn=F("pk") % MODELS).filter(turn=n).update(model=model)
    places = fleet.Position.objects.filter(site=site)
    for n, service in enumerate(SERVICES):
        turn = places.annotate(turn=F("pk") % len(SERVICES)).filter(turn=n)
        turn.update(fluid=service)
    for n in range(1, SITES):
        other = fleet.Site.objects.create(name=f"{site.name}, site {n}")
        units = fleet.Unit.objects.filter(site=site).annotate(turn=F("pk") % SITES).filter(turn=n)
        moved = list(units.values_list("pk", flat=True))
        there = fleet.Installation.objects.filter(position__unit__in=moved)
        every.filter(pk__in=there.values("device")).update(site=other)
        places.filter(unit__in=moved).update(site=other)
        fleet.Unit.objects.filter(pk__in=moved).update(site=other)


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
        (bench.Inspection, {**shifted, "ref": "ref || '-{devices}'", "site_id": HOME}, "id"),
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
