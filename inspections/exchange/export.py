"""Writing the workbook out again: the same format that `load` reads.

What is open is written when it was signed; loaded elsewhere it wants --leave-unverified. A job
still being written has no row. Columns that a first load derived (a disposition, a method) are
written as they stand, so that a second round gives the same bytes.
"""

from collections.abc import Iterator
from pathlib import Path

from django.db.models import Q, QuerySet

from fleet.calc.activities import EARNED_IN_PLACE
from fleet.exchange import devices
from fleet.exchange.cells import NOT_RECORDED
from fleet.exchange.compare import shown
from fleet.exchange.register import HISTORY, PLACES
from fleet.exchange.run import Progress, silent
from fleet.exchange.sheets import Sheet
from fleet.exchange.writer import write
from fleet.models import Site
from inspections.exchange import findings, pops, readings, sheet
from inspections.exchange.setting_points import Settings
from inspections.exchange.workbook import POINTS
from inspections.models import Finding, Inspection, SettingReading

ORDER = (
    "rules",
    "tolerances",
    "positions",
    "devices",
    "setting_points",
    "installations",
    "arrangements",
    "obligations",
    "decisions",
    "inspections",
    "settings",
    "findings",
    "outages",
    "deferrals",
    "changes",
    "triggers",
    "counters",
    "out_of_service",
    "job_hours",
)


def dump(path: Path, *, site: Site | None = None, progress: Progress = silent) -> dict[str, int]:
    """Write a site, or everything, to a folder, .zip or .xlsx. Returns rows by sheet."""
    ways = {one.sheet.name: (one.sheet, one.dump) for one in (*PLACES, POINTS, *HISTORY)}
    ways |= {
        "inspections": (sheet.SHEET, _inspections),
        "settings": (readings.SHEET, _settings),
        "findings": (findings.SHEET, _findings),
    }

    def sheets() -> Iterator[tuple[Sheet, Iterator[dict[str, str]]]]:
        for number, name in enumerate(ORDER):
            progress(f"writing {name}", number, len(ORDER))
            declared, rows = ways[name]
            yield declared, rows(site)

    return write(path, sheets())


def drafts(site: Site | None) -> int:
    """Records that are still being written and therefore have no row."""
    rows = Inspection.objects.filter(locked_at=None, signed_at=None)
    return (rows.filter(site=site) if site else rows).count()


def _finished(site: Site | None) -> QuerySet[Inspection]:
    """Of a site: its records, and those its devices earned elsewhere, for its clocks run on."""
    rows = Inspection.objects.exclude(locked_at=None, signed_at=None)
    if site is None:
        return rows
    earned = Q(device__in=devices.of_site(site)) & ~Q(activity__in=EARNED_IN_PLACE)
    return rows.filter(Q(site=site) | earned)


def _inspections(site: Site | None) -> Iterator[dict[str, str]]:
    rows = _finished(site).select_related("site", "device", "done_by", "verified_by", "corrects")
    for row in rows.prefetch_related("pops").iterator(chunk_size=2000):
        cell = {name: shown(getattr(row, name)) for name in sheet.PLAIN}
        home = site or row.site
        cell |= {name: _popped(value) for name, value in pops.cells_of(row.pops.all()).items()}
        yield cell | {
            "ref": row.ref,
            "site": home.name if home else "",
            "tag": row.tag_typed,
            "device": row.device.number,
            "done_on": row.done_typed or shown(row.done_on),
            "done_by": row.done_by.name if row.done_by else NOT_RECORDED,
            "verified_by": row.verified_by.name if row.verified_by else "",
            "corrects": row.corrects.ref if row.corrects else "",
        }


def _popped(value: object) -> str:
    return "; ".join(map(str, value)) if isinstance(value, tuple) else shown(value)


def _settings(site: Site | None) -> Iterator[dict[str, str]]:
    names = Settings()
    rows = SettingReading.objects.filter(inspection__in=_finished(site))
    for row in rows.select_related("inspection__device", "changed_by").iterator(chunk_size=5000):
        cell = readings.cells_of(row, names, row.inspection.device)
        yield cell | {"ref": row.inspection.ref}


def _findings(site: Site | None) -> Iterator[dict[str, str]]:
    rows = Finding.objects.filter(inspection__in=_finished(site)).select_related("inspection")
    for row in rows.order_by("inspection", "part", "order").iterator(chunk_size=5000):
        yield findings.cells_of(row) | {"ref": row.inspection.ref}
