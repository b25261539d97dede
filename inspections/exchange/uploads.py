"""A workbook somebody sent through the site: kept as it came, loaded in the background."""

import hashlib
from datetime import datetime
from pathlib import Path
from typing import Any

from django.core.files.uploadedfile import UploadedFile

from fleet.exchange.run import Progress, Report
from fleet.faults import FAULT, FINDING, NOTE, Fault
from fleet.models import Job, Site, Upload, User
from inspections.exchange.workbook import load

KIND = "import_workbook"
SHOWN = 500  # of each severity; the rest are counted


def keep_upload(file: UploadedFile, site: Site, *, by: User, at: datetime) -> Upload:
    """Keep the file under its content's own digest."""
    digest = hashlib.sha256()
    for chunk in file.chunks():
        digest.update(chunk)
    suffix = Path(file.name or "").suffix.lower()
    upload = Upload(
        site=site,
        name=Path(file.name or "workbook").name[:200],
        size=file.size or 0,
        sha256=digest.hexdigest(),
        uploaded_at=at,
        uploaded_by=by,
    )
    upload.file.save(f"{digest.hexdigest()}{suffix if suffix.isascii() else ''}", file)
    return upload


def load_upload(job: Job, progress: Progress, *, at: datetime) -> dict[str, Any]:
    """Load the upload of a job, or say what loading it would do. Returns the job's result."""
    upload = job.upload
    assert upload is not None
    options = dict(job.arguments)
    report = load(
        Path(upload.file.path),
        by=job.asked_by,
        at=at,
        site=upload.site.name if upload.site else "",
        only_site=upload.site,
        progress=progress,
        **options,
    )
    return as_result(report)


def as_result(report: Report) -> dict[str, Any]:
    """A report as plain data; of very many faults the first are kept and all are counted."""
    groups = {FAULT: report.faults, FINDING: report.findings, NOTE: report.notes}
    return {
        "said": [_plain(fault) for group in groups.values() for fault in group[:SHOWN]],
        "totals": {severity: len(group) for severity, group in groups.items()},
        "counts": dict(report.counts),
        "sheets": report.sheets,
        "is_dry_run": report.is_dry_run,
    }


def _plain(fault: Fault) -> dict[str, Any]:
    return {
        "field": fault.field,
        "typed": fault.typed,
        "expected": fault.expected.removeprefix("expected "),  # it stands in a column so named
        "sheet": fault.sheet,
        "row": fault.row,
        "severity": fault.severity,
        "code": fault.code,
    }


def said_of(result: dict[str, Any], severity: str) -> list[Fault]:
    """The faults, findings or notes of a job's result."""
    return [Fault(**each) for each in result.get("said", []) if each["severity"] == severity]
