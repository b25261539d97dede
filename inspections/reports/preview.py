"""What verification would make of an open record, for whoever verifies it. Nothing is saved."""

from dataclasses import dataclass

from inspections.actions.assess import assess, why_not_counted
from inspections.actions.context import context_of
from inspections.actions.records import Record


@dataclass(frozen=True)
class Preview:
    """why_not: why it would not count, "" where it would; questions: what it would leave open."""

    why_not: str
    questions: list[str]


def preview_of(record: Record) -> Preview:
    """Judges the record's pops, unsaved, as they would be snapshotted if it were locked now."""
    inspection = record.inspection
    written = (inspection.disposition, inspection.position_id)
    [assessment] = assess([record], context_of([inspection]))
    why_not = why_not_counted(record)
    inspection.disposition, inspection.position_id = written  # it stands as it was written
    return Preview(why_not, [question.text for question in assessment.questions])
