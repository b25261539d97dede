"""Answering a question: said once, by name, and kept."""

from datetime import datetime

from fleet import audit
from fleet.faults import Fault, Refused
from fleet.models import User
from inspections.models import Question


@audit.writing()
def answer(question: Question, text: str, *, by: User, at: datetime) -> Question:
    """Raises Refused for an empty answer or a question answered already."""
    stored = Question.objects.get(pk=question.pk)
    if stored.answered_at is not None:
        raise Refused([Fault("answer", text, "this question was answered already")])
    if not text.strip():
        raise Refused([Fault("answer", text, "what explains it")])
    stored.answer, stored.answered_by, stored.answered_at = text.strip(), by, at
    stored.save()
    audit.record([audit.change("question answered", stored)], by=by, at=at)
    return stored
