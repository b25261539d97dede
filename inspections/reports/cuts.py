"""Why two readings are not compared, as people read it: days and methods in words."""

from fleet.drawings.words import true_minus
from fleet.reports.reasons import with_day_words
from inspections.calc.movements import METHOD, Step
from inspections.models import Method


def cut_words(step: Step) -> str:
    """ "" for a step that is compared."""
    if step.cut is None:
        return ""
    if step.cut.kind != METHOD:
        return true_minus(with_day_words(step.cut.reason))
    was, now = (
        Method(visit.method).label if visit.method else "not recorded"
        for visit in (step.start, step.end)
    )
    return f"method was {was}, now {now}"
