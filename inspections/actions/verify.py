"""Verification: a second person answers for the record; it locks, counts, and moves due dates.

A correction that is verified voids the event of the record it corrects, in the same transaction.
What was found may be proposed as a reason to look at the interval; nothing follows by itself.
"""

from collections.abc import Sequence
from datetime import datetime

from fleet import audit, ledger
from fleet.faults import Fault, Refused
from fleet.models import Installation, User
from inspections.actions.ask import ask
from inspections.actions.assess import POPPED, Assessment, assess
from inspections.actions.context import context_of
from inspections.actions.kinds import gaps_of_kind
from inspections.actions.outside import entered_by
from inspections.actions.propose import propose
from inspections.actions.records import Record, records_of
from inspections.models import Disposition, Inspection, Method, PopTest, Question


@audit.writing()
def verify(
    inspections: Sequence[Inspection], *, by: User, at: datetime, version: int | None = None
) -> list[Question]:
    """Verify signed records, lock them, write the events they earn. Returns what they leave open.

    `version`: the version the verifier read; a record saved since is refused. Raises Refused.
    """
    ids = [inspection.pk for inspection in inspections]
    rows = Inspection.objects.filter(pk__in=ids).select_related("device")
    fresh = list(rows.order_by("pk"))
    records = records_of(fresh)
    faults = [fault for record in records for fault in why_not(record, by, version)]
    if faults:
        raise Refused(faults)
    for inspection in fresh:
        inspection.verified_by = by
    return lock(records, by=by, at=at)


@audit.writing()
def lock(records: Sequence[Record], *, by: User, at: datetime) -> list[Question]:
    """Judge, write events, lock. Records are stored; verified_by or accepted_by is set on them."""
    inspections = [record.inspection for record in records]
    assessments = assess(records, context_of(inspections))
    void_corrected(inspections, by, at)
    ledger.record([a.event for a in assessments if a.event], by=by, at=at)
    for assessment in assessments:
        _write(assessment, at)
    propose(inspections, by=by, at=at)
    audit.record(
        (
            audit.change("inspection locked", record.inspection, *record.children())
            for record in records
        ),
        by=by,
        at=at,
    )
    return ask([q for assessment in assessments for q in assessment.questions], by=by, at=at)


def _write(assessment: Assessment, at: datetime) -> None:
    """Children first, then the one save that locks."""
    record = assessment.record
    if record.pops:
        PopTest.objects.bulk_update(record.pops, JUDGED)
    record.inspection.event = assessment.event
    record.inspection.locked_at = at
    record.inspection.save()


STAYS_OUT = (Disposition.SCRAPPED, Disposition.REPLACED, Disposition.RETURNED_UNTESTED)
JUDGED = (
    "reference",
    "tolerance",
    "band_low",
    "band_high",
    "deviation_percent",
    "verdict",
    "shop_tolerance",
    "shop_verdict",
)


def void_corrected(inspections: Sequence[Inspection], by: User, at: datetime) -> None:
    """The events of records that these correct no longer count."""
    corrected = {i.corrects_id: i for i in inspections if i.corrects_id}
    olds = Inspection.objects.filter(pk__in=corrected, event__void=None).exclude(event=None)
    for old in olds.select_related("event"):
        reason = f"corrected by {corrected[old.pk].ref}"
        if old.event is not None:
            ledger.void([old.event], reason=reason, by=by, at=at)


def why_not(record: Record, by: User, version: int | None = None) -> list[Fault]:
    """Every reason why this person cannot verify this record now."""
    inspection = record.inspection
    faults = []
    if inspection.locked_at is not None:
        faults.append(Fault("record", inspection.ref, "is locked already; correct it instead"))
    if version is not None and inspection.version != version:
        faults.append(
            Fault("record", inspection.ref, "was changed since you read it; read it again")
        )
    if inspection.done_by_id is None or inspection.signed_at is None:
        faults.append(Fault("signature", "", "the person who did the work signs first"))
    if inspection.done_by_id == by.pk:
        faults.append(
            Fault("verified_by", by.name, "a second person verifies, not the one who did it")
        )
    elif entered_by(inspection, by):
        faults.append(
            Fault("verified_by", by.name, "a second person verifies, not the one who entered it")
        )
    return faults + gaps(record)


def gaps(record: Record) -> list[Fault]:
    """What a record must hold before it is signed: the first pop or why not, and the as-left.

    A new device on its maker's certificate was never in service, so it has no as-found.
    """
    inspection, faults = record.inspection, []
    if inspection.done_on is None:
        faults.append(Fault("done_on", "", "the day the work was done"))
    faults += gaps_of_kind(record, goes_back=goes_back(record))
    if inspection.activity not in POPPED:
        return faults
    if lacks_as_found(record):
        faults.append(Fault("first_pop", "", "the first pop, or why the test was waived"))
    if record.as_left_pop() is None and goes_back(record):
        faults.append(Fault("as_left_pop", "", "an as-left pop, or a disposition that needs none"))
    return faults


def lacks_as_found(record: Record) -> bool:
    """Is the first pop still to be taken, or waived? Not where the maker alone popped it: a device
    that has served is not new, whatever method is chosen."""
    inspection = record.inspection
    if record.first_pop() is not None or inspection.waived_reason:
        return False
    return inspection.method != Method.MAKER or _has_served(inspection)


def _has_served(inspection: Inspection) -> bool:
    """Did it stand anywhere before the day of the work? With no day, it may have."""
    spells = Installation.objects.filter(device=inspection.device_id, voided_at=None)
    if inspection.done_on is not None:
        spells = spells.filter(installed_on__lt=inspection.done_on)
    return spells.exists()


def goes_back(record: Record) -> bool:
    """Does this very device go back to service, or may it?"""
    return record.inspection.disposition not in STAYS_OUT
