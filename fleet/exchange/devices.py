"""The devices sheet. Models come into being by mention."""

from collections.abc import Iterable, Iterator, Sequence

from django.db.models import Q, QuerySet

from fleet.actions import devices, plant
from fleet.calc.units import (
    GAS_FLOW,
    GAUGE,
    LENGTH,
    LIQUID_FLOW,
    MASS_FLOW,
    SPRING_RATE,
    TEMPERATURE,
)
from fleet.exchange import cells
from fleet.exchange.compare import changed, shown, value_of
from fleet.exchange.places import may_touch
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.models import Device, DeviceModel, Installation, Site

SHEET = Sheet(
    "devices",
    ("device",),
    (
        Column("device", cells.text(80), required=True),
        Column("serial", cells.text(80)),
        Column("maker", cells.telling(120)),
        Column("model", cells.telling(120)),
        Column("kind", cells.word(Device.Kind.values), required=True),
        Column("nameplate_set", cells.quantity(GAUGE)),
        Column("spring_range", cells.text(80)),
        Column("inlet", cells.text(80)),
        Column("outlet", cells.text(80)),
        Column("orifice", cells.text(40)),
        Column("seat", cells.text(40)),
        Column("rated_capacity", cells.quantity(MASS_FLOW, GAS_FLOW, LIQUID_FLOW)),
        Column("spring", cells.text(80)),
        Column("spring_rate", cells.quantity(SPRING_RATE)),
        Column("screw_lead", cells.quantity(LENGTH)),
        Column("seat_diameter", cells.quantity(LENGTH)),
        Column("burst_temperature", cells.quantity(TEMPERATURE)),
        Column("lot", cells.text(80)),
        Column("status", cells.word(Device.Status.values)),
        Column("shelf_expires_on", cells.day()),
        Column("note", cells.text()),
    ),
)
LINKED = ("device", "maker", "model")
PLAIN = tuple(name for name in SHEET.names if name not in LINKED)


def load(run: Run, rows: Sequence[Row]) -> None:
    rows = list(_once(run, rows))
    mention_models(run, rows)
    home = _home(run)
    fresh, touched = [], []
    for row in rows:
        stored = run.lookups.devices.get(row["device"])
        if stored is None:
            fresh.append((row, _new(run, row, home)))
        elif may_touch(run, row, "device", stored.site_id) and _change(run, row, stored):
            touched.append((row, stored))
    devices.add_devices([device for _, device in fresh], by=run.by, at=run.at)
    devices.update_devices([device for _, device in touched], by=run.by, at=run.at)
    run.lookups.devices.update({device.number: device for _, device in fresh})
    run.count("devices added", len(fresh))
    run.count("devices changed", len(touched))
    for row, device in [*fresh, *touched]:
        run.wrote(row, device)


def _once(run: Run, rows: Iterable[Row]) -> Iterator[Row]:
    seen: dict[str, int] = {}
    for row in rows:
        first = seen.setdefault(row["device"], row.number)
        if first == row.number:
            yield row
        else:
            words = f"a device once; it is in row {first} too"
            run.say(row.fault("device", words, code="duplicate"))


def mention_models(run: Run, rows: Iterable[Row]) -> None:
    """Models that rows name and nobody has named before."""
    wanted = {(row["maker"] or "", row["model"]) for row in rows if row["model"]}
    new = [DeviceModel(maker=m, name=n) for m, n in sorted(wanted - set(run.lookups.models))]
    plant.add_mentioned(new, by=run.by, at=run.at)
    run.lookups.add_models(new)
    run.count("models added", len(new))


def _home(run: Run) -> Site | None:
    """Where devices that stand nowhere yet belong: the run's site, or the only one there is."""
    sites = run.lookups.sites
    name = run.options.site or (next(iter(sites)) if len(sites) == 1 else "")
    return run.options.only_site or sites.get(name)


def _new(run: Run, row: Row, home: Site | None) -> Device:
    device = Device(number=row["device"], site=home)
    device.model = run.lookups.models.get((row["maker"] or "", row["model"]))
    for name in PLAIN:
        if row[name] is not None:
            setattr(device, name, value_of(row, name, device))
    return device


def _change(run: Run, row: Row, stored: Device) -> bool:
    """Put on the device what the row says of it; True if that changes anything."""
    names = changed(row, stored, PLAIN)
    for name in names:
        setattr(stored, name, value_of(row, name, stored))
    before = stored.model_id
    if row.given("maker") or row.given("model"):
        old = stored.model
        maker = row.text("maker") if row.given("maker") else (old.maker if old else "")
        model = row.text("model") if row.given("model") else (old.name if old else "")
        stored.model = run.lookups.models.get((maker, model))
    return bool(names) or before != stored.model_id


def of_site(site: Site) -> QuerySet[Device]:
    """Devices at home at a site, and those that ever stood there."""
    fitted = Installation.objects.filter(position__site=site).values("device")
    return Device.objects.filter(Q(site=site) | Q(pk__in=fitted))


def dump(site: Site | None) -> Iterator[dict[str, str]]:
    rows = of_site(site) if site else Device.objects.all()
    for device in rows.select_related("model").iterator(chunk_size=2000):
        cell = {name: shown(getattr(device, name)) for name in PLAIN}
        model = device.model
        yield cell | {
            "device": device.number,
            "maker": model.maker if model else "",
            "model": model.name if model else "",
        }
