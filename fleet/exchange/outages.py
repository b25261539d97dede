"""The outages and job_hours sheets."""

from collections.abc import Iterator, Sequence

from fleet.actions import outages
from fleet.calc.activities import ACTIVITIES
from fleet.exchange import cells
from fleet.exchange.compare import changed, shown, value_of
from fleet.exchange.places import site_of
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.faults import NOTE
from fleet.models import Device, JobHours, Outage, Site, Unit
from fleet.reports.outages import overlapping

OUTAGES = Sheet(
    "outages",
    ("site", "name"),
    (
        Column("site", cells.telling(120)),
        Column("name", cells.text(120), required=True),
        Column("units", cells.names(), required=True),
        Column("starts_on", cells.day(), required=True),
        Column("ends_on", cells.day(), required=True),
        Column("freeze_on", cells.day()),
        Column("bench_hours", cells.decimal(2, 6)),
        Column("weekly_hours", cells.decimal(2, 6)),
        Column("status", cells.word(Outage.Status.values)),
    ),
)
JOB_HOURS = Sheet(
    "job_hours",
    ("activity", "kind"),
    (
        Column("activity", cells.word(ACTIVITIES), required=True),
        Column("kind", cells.word(Device.Kind.values)),
        Column("hours", cells.decimal(2, 4), required=True),
    ),
)
PLAIN = ("starts_on", "ends_on", "freeze_on", "bench_hours", "weekly_hours", "status")


def load_outages(run: Run, rows: Sequence[Row]) -> None:
    known = {(o.site_id, o.name): o for o in Outage.objects.prefetch_related("units")}
    saved: list[tuple[Outage, list[Unit]]] = []
    seen: set[tuple[int, str]] = set()
    added = 0
    for row in rows:
        site = site_of(run, row)
        if site is None:
            continue
        key = (site.pk, row["name"])
        units = _units(run, row, site)
        if key in seen:
            run.say(row.fault("name", "an outage once at a site", code="duplicate"))
        elif row.on("ends_on") < row.on("starts_on"):
            words = f"a day on or after starts_on, {row['starts_on']}"
            run.say(row.fault("ends_on", words, code="contradiction"))
        elif units is not None:
            stored = known.get(key) or Outage(site=site, name=row["name"])
            before = {unit.pk for unit in stored.units.all()} if stored.pk else set()
            names = changed(row, stored, PLAIN)
            for name in names:
                setattr(stored, name, value_of(row, name, stored))
            if stored.pk is None or names or before != {unit.pk for unit in units}:
                added += stored.pk is None
                saved.append((stored, units))
        seen.add(key)
    outages.save_outages(saved, by=run.by, at=run.at)
    _note_overlaps(run, rows, saved)
    run.count("outages added", added)
    run.count("outages changed", len(saved) - added)


def _note_overlaps(
    run: Run, rows: Sequence[Row], saved: Sequence[tuple[Outage, list[Unit]]]
) -> None:
    """Loaded all the same: a unit in two outages at once is said, not refused."""
    written = {(outage.site.name, outage.name): (outage, units) for outage, units in saved}
    for row in rows:
        site = site_of(run, row)
        outage, units = written.get((site.name, row["name"]) if site else ("", ""), (None, []))
        if outage is None or outage.status == Outage.Status.CANCELLED:
            continue
        days = (outage.starts_on, outage.ends_on)
        for unit, other in overlapping(outage.pk, units, *days):
            words = f"{unit} is down then already: {other}, {other.starts_on} to {other.ends_on}"
            run.say(row.fault("units", words, severity=NOTE, code="overlap"))


def _units(run: Run, row: Row, site: Site) -> list[Unit] | None:
    found = [run.lookups.units.get((site.pk, name)) for name in row["units"]]
    if found and None not in found:
        return [unit for unit in found if unit is not None]
    words = f"units of {site.name} that positions stand in, separated by ;"
    run.say(row.fault("units", words, typed="; ".join(row["units"]), code="unknown"))
    return None


def load_job_hours(run: Run, rows: Sequence[Row]) -> None:
    known = {(hours.activity, hours.kind): hours for hours in JobHours.objects.all()}
    saved, added, seen = [], 0, set()
    for row in rows:
        key = (row["activity"], row["kind"] or "")
        stored = known.get(key) or JobHours(activity=key[0], kind=key[1])
        if key in seen:
            run.say(row.fault("activity", "an activity and kind once", code="duplicate"))
        elif stored.pk is None or stored.hours != row["hours"]:
            added += stored.pk is None
            stored.hours = row["hours"]
            saved.append(stored)
        seen.add(key)
    outages.save_job_hours(saved, by=run.by, at=run.at)
    run.count("job hours added", added)
    run.count("job hours changed", len(saved) - added)


def dump_outages(site: Site | None) -> Iterator[dict[str, str]]:
    rows = Outage.objects.select_related("site").prefetch_related("units")
    for outage in rows.filter(site=site) if site else rows:
        yield {name: shown(getattr(outage, name)) for name in PLAIN} | {
            "site": outage.site.name,
            "name": outage.name,
            "units": "; ".join(sorted(unit.name for unit in outage.units.all())),
        }


def dump_job_hours(site: Site | None) -> Iterator[dict[str, str]]:
    for row in JobHours.objects.all():
        yield {"activity": row.activity, "kind": row.kind, "hours": shown(row.hours)}
