"""Before a job: targets, the last as-found, and what was seen on the parts last time."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from fleet.calc.units import Quantity
from fleet.models import PositionDuty
from inspections.actions.assess import reference_pressure
from inspections.actions.kinds import has_vacuum
from inspections.actions.targets import Target, targets_of
from inspections.actions.vacuum import vacuum_asked
from inspections.calc.verdicts import Band, NoBand, band
from inspections.models import Finding, Inspection, PopTest, SettingReading, Stage
from inspections.reports.certificate import duty_asked


@dataclass(frozen=True)
class JobSheet:
    """last_pop, last_left, last_found, seen: of the device's latest standing records that hold any.

    job: may be one that is only planned, and not stored.
    """

    job: Inspection
    duty: PositionDuty | None
    cdtp: Quantity | None
    band: Band | None
    targets: Sequence[Target]
    last_pop: PopTest | None
    last_left: PopTest | None
    last_found: dict[str, SettingReading]
    seen: Sequence[Finding]
    has_vacuum: bool
    vacuum_set: Quantity | None
    vacuum_band: Band | None


def job_sheet_of(job: Inspection) -> JobSheet:
    """About twelve queries, however long the history."""
    earlier, duty = _earlier(job), duty_asked(job)
    cdtp, (inward, inward_band) = reference_pressure(job, duty), vacuum_asked(duty)
    return JobSheet(
        job=job,
        duty=duty,
        cdtp=cdtp,
        band=_band(duty, cdtp),
        targets=targets_of(job),
        last_pop=_last_pop(earlier, Stage.AS_FOUND),
        last_left=_last_pop(earlier, Stage.AS_LEFT),
        last_found=_last_found(earlier),
        seen=_seen(earlier),
        has_vacuum=has_vacuum(job),
        vacuum_set=inward,
        vacuum_band=inward_band,
    )


def _earlier(job: Inspection) -> QuerySet[Inspection]:
    """Standing records of the device before the job, latest first."""
    rows = Inspection.objects.standing().filter(device=job.device_id)
    if job.done_on:
        same_day = Q(done_on=job.done_on)
        if job.pk:
            same_day &= Q(pk__lt=job.pk)
        rows = rows.filter(Q(done_on__lt=job.done_on) | same_day)
    return rows.exclude(pk=job.corrects_id or 0).order_by("-done_on", "-pk")


def _band(duty: PositionDuty | None, cdtp: Quantity | None) -> Band | None:
    if duty is None or duty.tolerance is None or duty.set_pressure is None or cdtp is None:
        return None
    try:
        return band(duty.tolerance.tolerance, duty.set_pressure, cdtp)
    except NoBand:
        return None


def _last_pop(earlier: QuerySet[Inspection], stage: str) -> PopTest | None:
    """The first pop as found, or the last one as left."""
    last = earlier.filter(pops__stage=stage).first()
    if last is None:
        return None
    pops = last.pops.filter(stage=stage).select_related("inspection").order_by("order")
    return pops.first() if stage == Stage.AS_FOUND else pops.last()


def _last_found(earlier: QuerySet[Inspection]) -> dict[str, SettingReading]:
    """The last as-found value of each setting, with the record it stands in."""
    rows = SettingReading.objects.filter(inspection__in=earlier, stage=Stage.AS_FOUND)
    rows = rows.exclude(value=None).select_related("inspection")
    ordered = rows.order_by("inspection__done_on", "inspection_id")
    return {reading.setting: reading for reading in ordered}


def _seen(earlier: QuerySet[Inspection]) -> list[Finding]:
    last = earlier.exclude(findings=None).first()
    return list(last.findings.select_related("inspection")) if last else []
