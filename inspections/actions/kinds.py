"""What a kind of device owes beyond what every record does: the vacuum side of a vent, and what
the tag of a disc or pin says."""

from fleet.faults import Fault
from inspections.actions.assess import POPPED, duty_of
from inspections.actions.context import context_of
from inspections.actions.discs import disc_gaps
from inspections.actions.records import Record
from inspections.calc.parts import PILOT, VENT
from inspections.models import Inspection, Method

VENTS = (VENT, PILOT)


def vacuum_gap_found(record: Record) -> list[Fault]:
    """The vacuum side as it came, where the duty has one: popped, or the test waived.

    Not of a vent that is new, on its maker's certificate.
    """
    inspection = record.inspection
    if not has_vacuum(inspection) or record.vacuum_found() or inspection.waived_reason:
        return []
    if inspection.method == Method.MAKER:
        return []
    return [Fault("vacuum_pop", "", "the vacuum at which it first opened, or why it was waived")]


def gaps_of_kind(record: Record, *, goes_back: bool) -> list[Fault]:
    """What is missing before it is signed."""
    faults = [*vacuum_gap_found(record), *disc_gaps(record)]
    if goes_back and has_vacuum(record.inspection) and record.vacuum_left() is None:
        words = "the vacuum at which it opens as left, or a disposition that needs none"
        faults.append(Fault("vacuum_left", "", words))
    return faults


def has_vacuum(inspection: Inspection) -> bool:
    """Is it popped inward too? A vent is where its duty sets a vacuum, by weights or by a pilot."""
    if inspection.device.kind not in VENTS or inspection.activity not in POPPED:
        return False
    duty = duty_of(inspection, context_of([inspection]))
    return duty is not None and duty.vacuum_set is not None
