"""A plant whose devices were overhauled, written as rows: what the settings review reads.

Each device is popped and its lower ring read at every overhaul, found and left. One in a hundred
drifts, one in twenty pops high now and then; the rest is found where it was left.
"""

from collections.abc import Iterator, Sequence
from datetime import timedelta

from fleet import models as fleet
from inspections import models as bench
from tests.benchmarks import plant

OVERHAULS = 4
BATCH = 5000
DATUM = "ring touching the disc holder"
JUDGED = {"reference": "150 psig", "band_low": "145.5 psig", "band_high": "154.5 psig"}


def overhaul(positions: Sequence[fleet.Position], *, by: fleet.User) -> None:
    """Give the devices fitted at these positions a model and their overhauls."""
    model = fleet.DeviceModel.objects.create(name=f"Model of {len(positions)}")
    bench.SettingPoint.objects.create(
        model=model, setting="lower_ring", measure="notches", datum=DATUM, resolution="1 notch"
    )
    devices = list(fleet.Device.objects.filter(installations__position__in=_site(positions)))
    fleet.Device.objects.filter(site=positions[0].site_id).update(model=model)
    verifier, _ = fleet.User.objects.get_or_create(username="verifier", name="Vera Fier")
    for start in range(0, len(devices), BATCH):
        _write(devices[start : start + BATCH], start, by, verifier)


def _site(positions: Sequence[fleet.Position]):
    return fleet.Position.objects.filter(site=positions[0].site_id)


def _write(devices, first: int, by: fleet.User, verifier: fleet.User) -> None:
    records = bench.Inspection.objects.bulk_create(
        (
            bench.Inspection(
                ref=f"{device.number}-{turn}",
                site_id=device.site_id,
                device=device,
                activity="overhaul",
                done_on=plant.FIRST_DAY + timedelta(days=60 + turn * 1100 + (first + n) % 360),
                method="bench",
                disposition="repaired",
                gauge=f"PG-{n % 40}",
                recorded_at=plant.AT,
                recorded_by=by,
            )
            for n, device in enumerate(devices)
            for turn in range(OVERHAULS)
        ),
        batch_size=BATCH,
    )
    bench.PopTest.objects.bulk_create(_pops(records), batch_size=BATCH)
    bench.SettingReading.objects.bulk_create(_rings(records), batch_size=BATCH)
    for start in range(0, len(records), BATCH):
        keys = [record.pk for record in records[start : start + BATCH]]
        bench.Inspection.objects.filter(pk__in=keys).update(
            locked_at=plant.AT, verified_by=verifier
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
        moved = 6 if device % 100 == 3 else number * 7 % 3 - 1
        for stage, value in (("as_found", -9 + moved), ("as_left", -9)):
            yield bench.SettingReading(
                inspection=record,
                setting="lower_ring",
                stage=stage,
                value=f"{value} notches",
                datum=DATUM,
            )
