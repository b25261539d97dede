"""What was found at positions, visit after visit, as `inspections.calc.causes` takes it."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from django.db.models import Exists, OuterRef

from inspections.calc.causes import AsFound
from inspections.calc.verdicts import Band
from inspections.models import Inspection, PopTest, Stage

CHUNK = 1000


class Visit(NamedTuple):
    """One standing record that says how the device came from the position it served."""

    inspection: int
    ref: str
    device: int
    position: int
    on: date
    waived: str
    is_baseline: bool
    has_pop: bool


@dataclass(frozen=True)
class Visits:
    """Every visit to some positions, by position, in the order of their days."""

    at: dict[int, list[Visit]]

    @classmethod
    def to(cls, positions: Iterable[int]) -> "Visits":
        """One query a thousand positions."""
        places, at = sorted(set(positions)), defaultdict(list)
        popped = PopTest.objects.filter(inspection=OuterRef("pk"), stage=Stage.AS_FOUND)
        rows = Inspection.objects.standing().exclude(done_on=None)
        rows = rows.annotate(has_pop=Exists(popped)).order_by("done_on", "pk")
        columns = ("pk", "ref", "device", "position", "done_on", "waived_reason", "is_baseline")
        for start in range(0, len(places), CHUNK):
            here = rows.filter(position__in=places[start : start + CHUNK])
            for row in here.values_list(*columns, "has_pop"):
                visit = Visit(*row)
                if visit.has_pop or visit.waived:
                    at[visit.position].append(visit)
        return cls(dict(at))

    def named(self) -> dict[str, Visit]:
        return {visit.ref: visit for visits in self.at.values() for visit in visits}

    def is_last(self, visit: Visit) -> bool:
        return self.at[visit.position][-1] == visit

    def before(self, visit: Visit) -> Visit | None:
        """The last visit before it at which this device, from this position, was popped."""
        here = self.at[visit.position]
        earlier = here[: here.index(visit)]
        same = [v for v in earlier if v.device == visit.device and v.has_pop]
        return same[-1] if same else None


def as_founds(visits: Sequence[Visit]) -> dict[int, AsFound]:
    """Each visit with its first pop, by inspection; one query a thousand."""
    by_pk = {visit.inspection: visit for visit in visits}
    keys = sorted(by_pk)
    first: dict[int, PopTest] = {}
    for start in range(0, len(keys), CHUNK):
        pops = PopTest.objects.filter(
            inspection__in=keys[start : start + CHUNK], stage=Stage.AS_FOUND
        )
        for pop in pops.order_by("order"):
            first.setdefault(pop.inspection_id, pop)
    return {pk: as_found(visit.ref, visit.on, visit.waived, first.get(pk))
            for pk, visit in by_pk.items()}  # fmt: skip


def as_found(ref: str, on: date, waived: str, first: PopTest | None) -> AsFound:
    """A record by its first pop, as it was judged when the record was locked."""
    if first is None:
        return AsFound(ref, on, waived=waived)
    low, high = first.band_low, first.band_high
    return AsFound(
        ref=ref,
        on=on,
        verdict=first.verdict,
        result=first.result,
        pop=first.pressure,
        no_lift=first.bound == PopTest.Bound.ABOVE,
        reference=first.reference,
        band=Band(low, high) if low is not None and high is not None else None,
        waived=waived,
    )
