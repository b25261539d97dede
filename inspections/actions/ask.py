"""Opening questions, each once."""

from collections.abc import Sequence
from datetime import datetime

from fleet import audit
from fleet.models import User
from inspections.models import Question

BATCH = 500
Key = tuple[int | None, int | None, int | None, str, str]


@audit.writing()
def ask(questions: Sequence[Question], *, by: User, at: datetime) -> list[Question]:
    """Write questions, unsaved and without stamps; leave out those asked before. Returns the new.

    A question is asked once for an inspection; without one once for a position, or a device.
    """
    asked, fresh = _asked(questions), []
    for question in questions:
        key = _key(question)
        if key not in asked:
            asked.add(key)
            question.recorded_by, question.recorded_at = by, at
            fresh.append(question)
    Question.objects.bulk_create(fresh, batch_size=BATCH)
    audit.record((audit.change("question opened", q) for q in fresh), by=by, at=at)
    return fresh


def _key(question: Question) -> Key:
    inspection = question.inspection_id
    position = None if inspection else question.position_id
    device = None if inspection or position else question.device_id
    return (inspection, position, device, question.code, question.field)


def _asked(questions: Sequence[Question]) -> set[Key]:
    found: set[Key] = set()
    for name in ("inspection", "position", "device"):
        keys = sorted({k for q in questions if (k := getattr(q, f"{name}_id")) is not None})
        for start in range(0, len(keys), BATCH):
            rows = Question.objects.filter(**{f"{name}__in": keys[start : start + BATCH]})
            found.update(_key(question) for question in rows)
    return found
