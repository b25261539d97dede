"""An inspection and its children, taken together."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from inspections.calc.parts import RENEWED
from inspections.models import (
    ContactCheck,
    Document,
    Finding,
    Inspection,
    Photo,
    PopStage,
    PopTest,
    SettingReading,
    Stage,
)


@dataclass
class Record:
    """An inspection with its children, saved or not."""

    inspection: Inspection
    pops: list[PopTest] = field(default_factory=list)
    settings: list[SettingReading] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    contact_checks: list[ContactCheck] = field(default_factory=list)
    photos: list[Photo] = field(default_factory=list)
    documents: list[Document] = field(default_factory=list)

    def first_pop(self) -> PopTest | None:
        """The as-found value: the first as-found pop, for ever."""
        found = [pop for pop in self.pops if pop.stage == Stage.AS_FOUND]
        return min(found, key=lambda pop: pop.order, default=None)

    def as_left_pop(self) -> PopTest | None:
        left = [pop for pop in self.pops if pop.stage == Stage.AS_LEFT]
        return max(left, key=lambda pop: pop.order, default=None)

    def vacuum_found(self) -> PopTest | None:
        """The first pop of a vent's vacuum side as it came."""
        return next((pop for pop in self.pops if pop.stage == PopStage.VACUUM_FOUND), None)

    def vacuum_left(self) -> PopTest | None:
        return next((pop for pop in self.pops if pop.stage == PopStage.VACUUM_LEFT), None)

    def replaced(self) -> list[str]:
        """The parts that were replaced, each once, as they were named."""
        done = (finding.part for finding in self.findings if RENEWED.search(finding.action))
        return list(dict.fromkeys(done))

    def children(self) -> list:
        rows = (
            self.pops,
            self.settings,
            self.findings,
            self.contact_checks,
            self.photos,
            self.documents,
        )
        return [child for kind in rows for child in kind]


def records_of(inspections: Sequence[Inspection]) -> list[Record]:
    """Stored inspections with their stored children, in a query for each kind."""
    by_id = {inspection.pk: Record(inspection) for inspection in inspections}
    for pop in PopTest.objects.filter(inspection__in=by_id):
        by_id[pop.inspection_id].pops.append(pop)
    for reading in SettingReading.objects.filter(inspection__in=by_id):
        by_id[reading.inspection_id].settings.append(reading)
    for finding in Finding.objects.filter(inspection__in=by_id):
        by_id[finding.inspection_id].findings.append(finding)
    for check in ContactCheck.objects.filter(inspection__in=by_id):
        by_id[check.inspection_id].contact_checks.append(check)
    for photo in Photo.objects.filter(inspection__in=by_id).select_related("taken_by"):
        by_id[photo.inspection_id].photos.append(photo)
    for document in Document.objects.filter(inspection__in=by_id).select_related("added_by"):
        by_id[document.inspection_id].documents.append(document)
    return list(by_id.values())
