"""The pressure at which the pops of a job stop: the lowest of the caps entered on it."""

from inspections.calc import pops
from inspections.models import Inspection, Method

IN_PLACE = (Method.IN_PLACE_PRESSURE, Method.IN_PLACE_ASSIST)


def cap_of(inspection: Inspection) -> pops.Cap | None:
    """The cap that applies to this job's pops; None where none was entered."""
    return pops.lowest_cap(
        inspection.cap_owner,
        inspection.cap_rig,
        inspection.cap_equipment,
        in_place=inspection.method in IN_PLACE,
    )
