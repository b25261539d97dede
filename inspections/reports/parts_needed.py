"""Parts an outage is likely to take, counted from past overhauls of the same models."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from fleet.models import DeviceModel, User
from inspections.calc.parts import RENEWED
from inspections.calc.parts_needed import FEWEST, PartNeed, parts_needed
from inspections.models import Finding, Inspection
from inspections.reports.visits import Visit

COLUMNS = (
    *("model", "part", "jobs", "overhauls", "renewed", "expected", "low", "high"),
    "note",
)
OVERHAUL = "overhaul"


@dataclass(frozen=True)
class ModelNeeds:
    """One model: the overhauls to come, those that were, and what they renewed.

    silent: past overhauls on whose parts nothing is written; they are not counted, because nothing
    written is not nothing renewed. parts: None where there are too few to count by.
    """

    model: DeviceModel
    jobs: int
    overhauls: int
    silent: int
    parts: Sequence[PartNeed] | None

    @property
    def note(self) -> str:
        if self.parts is None:
            return f"not enough overhauls of this model: {self.overhauls} of at least {FEWEST}"
        if not self.parts:
            return f"no part was renewed at any of {self.overhauls} overhauls of this model"
        return ""


@dataclass(frozen=True)
class Needs:
    """modelless: overhauls of devices of which no model is recorded; nothing is said of them."""

    models: Sequence[ModelNeeds]
    jobs: int
    modelless: int

    def as_dicts(self) -> Iterator[dict[str, Any]]:
        for needs in self.models:
            known = {"model": str(needs.model), "jobs": needs.jobs, "overhauls": needs.overhauls}
            if not needs.parts:
                yield known | {"note": needs.note}
            for part in needs.parts or ():
                yield known | {
                    "part": part.part,
                    "renewed": part.renewed,
                    "expected": part.about,
                    "low": part.low,
                    "high": part.high,
                }


def needs_of(visits: Sequence[Visit], as_of: date, user: User) -> Needs:
    """By the overhauls that the reader may see. Three queries."""
    ahead = [visit for visit in visits if visit.main == OVERHAUL and visit.done_on is None]
    due = [visit.device for visit in ahead if visit.device is not None]
    jobs: dict[int, int] = defaultdict(int)
    models: dict[int, DeviceModel] = {}
    for device in due:
        if device.model is not None:
            jobs[device.model.pk] += 1
            models[device.model.pk] = device.model
    renewed, silent = _past(jobs, as_of, user)
    found = [
        ModelNeeds(
            model=models[pk],
            jobs=number,
            overhauls=len(renewed.get(pk, ())),
            silent=silent.get(pk, 0),
            parts=parts_needed(renewed.get(pk, []), number),
        )
        for pk, number in jobs.items()
    ]
    found.sort(key=lambda needs: (-needs.jobs, str(needs.model)))
    return Needs(found, len(due), len(due) - sum(jobs.values()))


def _past(
    models: Mapping[int, int], as_of: date, user: User
) -> tuple[dict[int, list[set[str]]], dict[int, int]]:
    """By model: of each past overhaul the parts renewed; and how many say nothing of any part."""
    rows = Inspection.objects.visible_to(user).standing().filter(activity=OVERHAUL)
    rows = rows.filter(device__model__in=models, done_on__lte=as_of)
    past = dict(rows.values_list("pk", "device__model"))
    parts: dict[int, set[str]] = {}
    seen = Finding.objects.filter(inspection__in=rows).values_list("inspection", "part", "action")
    for inspection, part, action in seen:
        renewed = parts.setdefault(inspection, set())
        if RENEWED.search(action):
            renewed.add(part)
    found: dict[int, list[set[str]]] = defaultdict(list)
    silent: dict[int, int] = defaultdict(int)
    for inspection, model in past.items():
        if inspection in parts:
            found[model].append(parts[inspection])
        else:
            silent[model] += 1
    return found, silent
