"""What the lines of a compliance list refer to, loaded a page at a time."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from fleet.models import (
    Deferral,
    Device,
    ObligationSpan,
    Position,
    PositionDuty,
    Unit,
)
from fleet.reports.due_lines import Line, View
from fleet.reports.proposals import Proposals
from inspections.models import Question
from inspections.reports.evidence import Evidence, evidence_of
from inspections.reports.places import duties_on


@dataclass(frozen=True)
class Facts:
    """What a page of lines refers to, by primary key."""

    spans: dict[int, ObligationSpan]
    units: dict[int, Unit]
    devices: dict[int, Device]
    positions: dict[int, Position]
    duties: dict[int, PositionDuty]
    deferrals: dict[tuple[int | None, date | None], Deferral]
    evidence: dict[int, Evidence]
    questions: "OpenQuestions"
    proposals: Proposals

    @classmethod
    def about(cls, lines: Sequence[Line], view: View) -> "Facts":
        rows = ObligationSpan.objects.select_related(
            "obligation__rule", "event", "decision__decided_by"
        )
        spans = rows.in_bulk({line.span for line in lines if line.span})
        places = {line.position for line in lines}
        deferred = Deferral.objects.filter(obligation__in=[x.obligation for x in lines if x.until])
        return cls(
            spans=spans,
            units=Unit.objects.select_related("site").in_bulk({line.unit for line in lines}),
            devices=Device.objects.in_bulk({line.device for line in lines if line.device}),
            positions=Position.objects.select_related("equipment").in_bulk(places),
            duties=duties_on(places, view.day, view.known_at),
            deferrals={
                (row.obligation_id, row.due_on): row
                for row in deferred.select_related("approved_by")
            },
            evidence=evidence_of([span.event for span in spans.values() if span.event]),
            questions=OpenQuestions.about(lines, view),
            proposals=Proposals.about(lines, view.day, view.known_at),
        )


@dataclass(frozen=True)
class OpenQuestions:
    """Open questions on the place or on any record of the device fitted, by each."""

    at: dict[int, set[int]]
    of: dict[int, set[int]]

    @classmethod
    def about(cls, lines: Sequence[Line], view: View) -> "OpenQuestions":
        asked = view.known(Question.objects.filter(_still_open(view))).filter(
            Q(inspection=None) | Q(inspection__done_on=None) | Q(inspection__done_on__lte=view.day)
        )
        devices = {line.device for line in lines if line.device}
        about = Q(position__in={line.position for line in lines}) | Q(device__in=devices)
        at, of = defaultdict(set), defaultdict(set)
        for pk, position, device in asked.filter(about).values_list("pk", "position", "device"):
            at[position].add(pk)
            of[device].add(pk)
        return cls(at, of)

    def count(self, line: Line) -> int:
        fitted = self.of.get(line.device, set()) if line.device else set()
        return len(self.at.get(line.position, set()) | fitted)


def _still_open(view: View) -> Q:
    never = Q(answered_at=None)
    return never if view.known_at is None else never | Q(answered_at__gt=view.known_at)
