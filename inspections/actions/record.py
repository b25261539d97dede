"""Writing many finished records at once: each inspection with its pops, settings and findings."""

from collections.abc import Sequence
from datetime import datetime

from fleet import audit, ledger
from fleet.models import User
from inspections.actions.ask import ask
from inspections.actions.assess import Assessment, assess
from inspections.actions.context import context_of
from inspections.actions.propose import propose
from inspections.actions.records import Record
from inspections.actions.verify import void_corrected
from inspections.models import Finding, Inspection, PopTest, Question, SettingReading

BATCH = 500


@audit.writing()
def record_finished(records: Sequence[Record], *, by: User, at: datetime) -> list[Question]:
    """Write unsaved records. One whose verified_by or accepted_by is set is judged, locked and
    counted; another stays open. Returns the questions they leave.

    Nothing is replayed, and of a first load nothing is proposed: the caller does that once, when
    all its facts are in.
    """
    for record in records:
        record.inspection.recorded_by, record.inspection.recorded_at = by, at
    finished = [record for record in records if _is_answered_for(record.inspection)]
    inspections = [record.inspection for record in finished]
    assessments = assess(finished, context_of(inspections))
    events = [assessment.event for assessment in assessments if assessment.event]
    ledger.record(events, by=by, at=at, replay=False)
    for assessment in assessments:
        assessment.record.inspection.event = assessment.event
    _write(records)
    _lock(inspections, at)
    void_corrected(inspections, by, at)
    propose([i for i in inspections if not i.is_baseline], by=by, at=at)
    audit.record((_change(record) for record in records), by=by, at=at)
    return ask(_questions(assessments), by=by, at=at)


def _is_answered_for(inspection: Inspection) -> bool:
    return inspection.verified_by_id is not None or inspection.accepted_by_id is not None


def _change(record: Record) -> audit.Change:
    locked = record.inspection.locked_at is not None
    words = "inspection locked" if locked else "inspection recorded"
    return audit.change(words, record.inspection, *record.children())


def _write(records: Sequence[Record]) -> None:
    """Inspections, then their children: a locked record takes none."""
    Inspection.objects.bulk_create([record.inspection for record in records], batch_size=BATCH)
    for record in records:
        for child in record.children():
            child.inspection = record.inspection
    pops = [pop for record in records for pop in record.pops]
    settings = [reading for record in records for reading in record.settings]
    findings = [finding for record in records for finding in record.findings]
    PopTest.objects.bulk_create(pops, batch_size=BATCH)
    SettingReading.objects.bulk_create(settings, batch_size=BATCH)
    Finding.objects.bulk_create(findings, batch_size=BATCH)


def _lock(inspections: Sequence[Inspection], at: datetime) -> None:
    for start in range(0, len(inspections), BATCH):
        batch = inspections[start : start + BATCH]
        rows = Inspection.objects.filter(pk__in=[inspection.pk for inspection in batch])
        rows.update(locked_at=at)
        for inspection in batch:
            inspection.locked_at = at


def _questions(assessments: Sequence[Assessment]) -> list[Question]:
    found = []
    for assessment in assessments:
        for question in assessment.questions:
            question.inspection = assessment.record.inspection  # which has its key only now
            found.append(question)
    return found
