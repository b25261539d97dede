"""Days that do not fit: before a place was there, or past when they were decided on."""

from collections.abc import Iterable, Iterator

from django.db.models import F

from fleet.calc.intervals import DECISION
from fleet.exchange.sheets import Row
from fleet.models import IntervalDecision, ObligationSpan, Trigger
from inspections.models import Question

CHUNK = 1000
Asked = tuple[Row, Question]


def of_triggers(written: Iterable[tuple[Row, Trigger]]) -> Iterator[Asked]:
    """Nothing calls for work at a place that is not yet in service."""
    for row, trigger in written:
        place = trigger.position
        days = [day for day in (place.in_service_on, place.commissioned_on) if day]
        if days and trigger.happened_on < max(days):
            yield (
                row,
                Question(
                    site_id=place.site_id,
                    position=place,
                    code="before_service",
                    field=f"happened_on {trigger.kind}",
                    typed=str(trigger.happened_on),
                    text=f"{trigger.get_kind_display()} on {trigger.happened_on}, before {place}"
                    f" entered service on {max(days)}",
                ),
            )


def of_decisions(written: Iterable[tuple[Row, IntervalDecision]]) -> Iterator[Asked]:
    """A decision whose interval was past on its first day names a day to act by; past ones that
    do not are kept, and asked about. Needs due dates."""
    rows = {decision.pk: (row, decision) for row, decision in written if decision.act_by is None}
    for pk, due_on in _past_at_once(sorted(rows)):
        row, decision = rows[pk]
        owed = decision.obligation
        yield (
            row,
            Question(
                site_id=owed.position.site_id,
                position=owed.position,
                code="act_by_missing",
                field=f"act_by from {decision.from_on} {owed.activity}",
                typed="",
                text=f"the interval decided on from {decision.from_on} was past by then, on"
                f" {due_on}: a day to act by, or it is overdue from its first day",
            ),
        )


def _past_at_once(decisions: list[int]) -> Iterator[tuple]:
    """(decision, the day it made due) where nothing was overdue the day before."""
    known = ObligationSpan.objects.known()
    for start in range(0, len(decisions), CHUNK):
        past = known.filter(decision__in=decisions[start : start + CHUNK], limit=DECISION)
        past = past.filter(from_on=F("decision__from_on"), due_on__lt=F("from_on"))
        for span in past.order_by("pk"):
            before = known.filter(obligation=span.obligation_id, until_on=span.from_on).first()
            if before is None or before.due_on is None or before.due_on >= span.from_on:
                yield span.decision_id, span.due_on
