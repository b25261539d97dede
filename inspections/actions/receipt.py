"""The receipt of a new device on its maker's certificate: did what was ordered arrive, and whole?

It has no as-found, since it was never in service. The nameplate is read and held against the
register and against the duty of the tag it was ordered for; a difference, or damage, is no bar,
but somebody says what was done about it.
"""

from collections.abc import Iterator

from fleet import clock
from fleet.calc.units import GAUGE
from fleet.faults import Fault
from fleet.models import Device, Position, PositionDuty
from inspections.actions.context import Context
from inspections.actions.discs import differs, has_served
from inspections.actions.records import Record
from inspections.calc.looks import FIGURES, LOOKS, NAMEPLATE, SET, same_size
from inspections.models import Finding, Inspection, Method


def is_receipt(inspection: Inspection) -> bool:
    """A maker's test of what never stood anywhere. A device that has served is not new."""
    is_makers = inspection.method == Method.MAKER and inspection.activity == "bench_test"
    return is_makers and not has_served(inspection)


def ordered_for(inspection: Inspection) -> PositionDuty | None:
    """What the tag asks that it was ordered for; None where no tag of its site is named."""
    tag = inspection.tag_typed.strip()
    place = Position.objects.filter(site=inspection.site_id, tag__iexact=tag).first()
    if place is None:
        return None
    duties = list(PositionDuty.objects.filter(position=place))
    duties.sort(key=lambda duty: (duty.from_on is not None, duty.from_on))
    day = inspection.received_on or inspection.done_on or clock.today()
    return Context(duties={place.pk: duties}).duty_on(place.pk, day)


def receipt_gaps(record: Record) -> Iterator[Fault]:
    """What the receipt of a new device has to say before it is signed for; of other work nothing.

    A correction says again what was written then: nobody can look at that day's arrival now.
    """
    inspection = record.inspection
    if inspection.corrects_id or not is_receipt(inspection):
        return
    if inspection.received_on is None:
        yield Fault("received_on", "", "the day it was received")
    yield from _nameplate_gaps(record)
    for look in LOOKS:
        seen = next((f for f in record.findings if f.part == look.part), None)
        if seen is None:
            yield Fault(look.label.lower(), "", f"{look.good}, or {look.bad}")
        elif seen.condition == look.bad and not seen.action:
            yield Fault(look.label.lower(), look.bad, "what was done about it")


def figures_read(record: Record) -> dict[str, Finding]:
    """{measure: its line} of the nameplate."""
    lines = (f for f in record.findings if f.part == NAMEPLATE)
    return {line.measure: line for line in lines if line.measure in FIGURES}


def _nameplate_gaps(record: Record) -> Iterator[Fault]:
    read, duty = figures_read(record), ordered_for(record.inspection)
    if SET not in read:
        yield Fault("nameplate set pressure", "", "as it is stamped, or why it cannot be read")
    for measure, line in read.items():
        doubt = doubt_of(record.inspection.device, duty, measure, line.value)
        if doubt and not line.action:
            yield Fault(f"nameplate {measure}", line.value, f"{doubt}: say what was done")


def doubt_of(device: Device, duty: PositionDuty | None, measure: str, typed: str) -> str:
    """How a figure off the nameplate differs from what was ordered; "" where it does not, or where
    nothing is on record to hold it against."""
    if not typed:
        return ""
    if measure == SET:
        asked = duty.set_pressure if duty else None
        own = differs(typed, GAUGE, device.nameplate_set, "on record")
        return own or differs(typed, GAUGE, asked, f"asked at {duty.tag}" if duty else "")
    known = getattr(device, measure)
    return "" if not known or same_size(typed, known) else f"{known} is on record"


def known_of(device: Device, duty: PositionDuty | None, measure: str) -> str:
    """What is on record of a figure, for the one who reads the nameplate."""
    own = str(getattr(device, "nameplate_set" if measure == SET else measure) or "")
    said = f"The register says {own}." if own else "The register says nothing of it."
    if measure == SET and duty is not None and duty.set_pressure is not None:
        said += f" {duty.tag} asks {duty.set_pressure}."
    return said
