"""What the record of a rupture disc or a pin owes before it is signed, and what it is about.

The record is of the disc that goes in: it earns the date, and carries it to wherever it is fitted.
Where the register numbers the holder and counts its discs by lot, the holder's own record says
“replaced”, and names the lot that went in.
"""

from collections.abc import Iterator

from fleet.calc.units import GAUGE, TEMPERATURE, Quantity, UnitsError, parse_quantity
from fleet.drawings.axis import day_words
from fleet.faults import Fault
from fleet.models import Device, PositionDuty
from inspections.actions.assess import duty_of
from inspections.actions.context import context_of
from inspections.actions.records import Record
from inspections.calc.limits import key_of
from inspections.calc.parts import PIN, RUPTURE_DISC
from inspections.models import Disposition, Finding, Inspection

ONE_SHOT = (RUPTURE_DISC, PIN)
CHANGES = ("disc_change", "replacement")
PUT_BACK = (Disposition.REINSTALLED, Disposition.REPAIRED)
GOES_IN = (*PUT_BACK, Disposition.REPLACED)
NAMEPLATE = {RUPTURE_DISC: "burst pressure", PIN: "set pressure"}


def is_one_shot(device: Device) -> bool:
    return device.kind in ONE_SHOT


def noun(device: Device) -> str:
    return "pin" if device.kind == PIN else "disc"


def about_words(inspection: Inspection) -> str:
    """Whose record this is, and which clock it moves, for the one who writes it."""
    device, what, day = inspection.device, noun(inspection.device), inspection.done_on
    spell = context_of([inspection]).spell_served(device.pk, day) if day else None
    if spell is None or day is None or spell.installed_on >= day:
        return (
            f"{device} is the {what} that goes in. Its date counts from this record, once it is"
            " verified and fitted at its position."
        )
    return (
        f"{device} has stood at {inspection.position} since {day_words(spell.installed_on)}: it is"
        f" the {what} that comes out, or a holder whose {what} is changed. If the {what} that goes"
        f" in has a number of its own, open this job for that one: it earns the date, and there is"
        f" no date until it has such a record. “Replaced” here says that another {what} went in"
        f" under this number."
    )


def disc_gaps(record: Record) -> Iterator[Fault]:
    """What a change of a disc or pin has to say; of other work and other devices nothing."""
    inspection = record.inspection
    if inspection.activity not in CHANGES or not is_one_shot(inspection.device):
        return
    what, outcome = noun(inspection.device), inspection.disposition
    if not outcome:
        yield Fault("disposition", "", f"where it goes: whether this {what} goes in, or another")
    if inspection.activity == "disc_change" and outcome in PUT_BACK and has_served(inspection):
        words = f"“replaced” if another {what} went in: one that is put back is no change of {what}"
        yield Fault("disposition", inspection.get_disposition_display(), words)
    if outcome in ("", *GOES_IN):
        yield from _tag_gaps(record, what)


def has_served(inspection: Inspection) -> bool:
    day = inspection.done_on
    spell = context_of([inspection]).spell_served(inspection.device_id, day) if day else None
    return spell is not None and day is not None and spell.installed_on < day


def _tag_gaps(record: Record, what: str) -> Iterator[Fault]:
    """What is read off the tag of the one that goes in, against its record and its duty."""
    device, read = record.inspection.device, _figures(record, what)
    for measure in ("lot", NAMEPLATE[device.kind]):
        if measure not in read:
            yield Fault(f"{what} {measure}", "", f"as the tag of the {what} that goes in says")
    duty = duty_of(record.inspection, context_of([record.inspection]))
    for measure, finding in read.items():
        if not finding.action and (words := tag_doubt(device, duty, measure, finding.value)):
            yield Fault(f"{what} {measure}", finding.value, f"{words}: say why it goes in, or not")


def _figures(record: Record, what: str) -> dict[str, Finding]:
    keys = {key_of(what, m): m for m in ("lot", "burst temperature", *NAMEPLATE.values())}
    found = {}
    for finding in record.findings:
        measure = keys.get(key_of(finding.part, finding.measure))
        if measure and finding.value:
            found[measure] = finding
    return found


def tag_doubt(device: Device, duty: PositionDuty | None, measure: str, typed: str) -> str:
    """How a figure off the tag differs from what is on record; "" where it does not, or where
    nothing is on record to hold it against."""
    if measure == "lot":
        is_other = bool(device.lot) and device.lot.casefold() != typed.strip().casefold()
        return f"the lot on record is {device.lot}" if is_other else ""
    if measure == "burst temperature":
        return differs(typed, TEMPERATURE, device.burst_temperature, "on record")
    own = differs(typed, GAUGE, device.nameplate_set, "on record")
    asked = duty.set_pressure if duty else None
    return own or differs(typed, GAUGE, asked, f"asked at {duty.tag}" if duty else "")


def differs(typed: str, dimension: str, known: Quantity | None, where: str) -> str:
    try:
        read = parse_quantity(typed, (dimension,))
    except UnitsError as error:
        return f"expected {error.expected}"
    if known is None:
        return ""
    is_same = (
        read == known
        if dimension == GAUGE
        else (read.unit, read.magnitude) == (known.unit, known.magnitude)
    )
    return "" if is_same else f"{known} is {where}"
