"""Where what is missing before a signature is typed, so that one tap goes there."""

from collections.abc import Iterator, Sequence

from django.urls import reverse

from fleet.faults import Fault
from inspections.forms.walk import STEPS
from inspections.models import Inspection

NAMED = {"done_by": "done_by_name"}  # a fault's field by the name of its box
ENDS = {" as found": "as_found", " as left": "reassemble"}  # of settings, each with its own name
PARTS = ("inspect", "disc")


def placed(job: Inspection, faults: Sequence[Fault], walk: Sequence[str]) -> Iterator[dict]:
    """Each fault with the step of this walk that asks for it; no step where none does."""
    for fault in faults:
        step = _step_of(fault.field, walk)
        title = STEPS[step].title if step else ""
        url = reverse("bench_step", args=[job.pk, step]) if step else ""
        yield {"fault": fault, "title": title, "url": url}


def _step_of(field: str, walk: Sequence[str]) -> str:
    box = NAMED.get(field, field)
    for end, step in ENDS.items():
        if field.endswith(end):
            return step if step in walk else ""
    asking = PARTS if " " in field else [step for step in walk if box in STEPS[step].base_fields]
    return next((step for step in asking if step in walk), "")
