"""What a locked record says, as it was judged: for the certificate and the hand-tag."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from django.db.models import Q

from fleet.calc.duty import NoColdTestPressure, cold_test_pressure
from fleet.calc.units import Quantity
from fleet.models import AuditEntry, Installation, PositionDuty, ToleranceBand
from inspections.actions.records import Record, records_of
from inspections.actions.targets import Target, targets_of
from inspections.calc.naming import words_of
from inspections.calc.readings import SettingValue, obstacle, signed
from inspections.models import ContactCheck, Inspection, PopTest, SettingReading, Stage
from inspections.reports.tightness import SeatLine, seat_lines

LOCKED = "inspection locked"
UNTOLD = "as kept with the pops; what it came from is not on record for that day"


@dataclass(frozen=True)
class SettingLine:
    """One setting: as found, as left, what was changed, and how it stands to its target."""

    words: str
    found: SettingReading | None
    left: SettingReading | None
    difference: str
    against: str


@dataclass(frozen=True)
class Certificate:
    """duty: what the position asked that day, as it was known when the record was locked."""

    record: Record
    duty: PositionDuty | None
    cdtp: Quantity | None
    cdtp_words: str
    tolerance: ToleranceBand | None
    settings: Sequence[SettingLine]
    contact_checks: Sequence[ContactCheck]
    seats: Mapping[int, SeatLine]  # by pop, where a leakage was read
    correction: Inspection | None  # locked, and so in this record's place
    entry: AuditEntry | None  # the change that locked it

    @property
    def inspection(self) -> Inspection:
        return self.record.inspection


def certificate_of(inspection: Inspection) -> Certificate:
    """Of a locked record, in about ten queries. Raises ValueError for one that is open."""
    if inspection.locked_at is None:
        raise ValueError(f"{inspection.ref} is not locked: nothing is certified")
    [record] = records_of([inspection])
    duty = duty_asked(inspection)
    pops = sorted(record.pops, key=lambda pop: (pop.stage, pop.order))
    record.pops = pops
    outward = (pop for pop in pops if not pop.is_vacuum)
    cdtp = next((pop.reference for pop in outward if pop.reference is not None), None)
    correction = Inspection.objects.locked().filter(corrects=inspection).first()
    return Certificate(
        record=record,
        duty=duty,
        cdtp=cdtp,
        cdtp_words=_derivation(inspection, duty, cdtp),
        tolerance=_tolerance(pops, duty),
        settings=list(_settings(record, targets_of(inspection))),
        contact_checks=list(inspection.contact_checks.order_by("order")),
        seats=seat_lines(inspection, duty, pops),
        correction=correction,
        entry=locking_entry(inspection),
    )


def locking_entry(inspection: Inspection) -> AuditEntry | None:
    aggregate = f"{inspection._meta.model_name}:{inspection.pk}"
    entries = AuditEntry.objects.filter(aggregate=aggregate)
    return entries.filter(action=LOCKED).last() or entries.last()


def duty_asked(inspection: Inspection) -> PositionDuty | None:
    """By the position it served; of a device that never stood anywhere, by the one it went to
    next. What was written down after the record was locked judged nothing in it."""
    day, place = inspection.done_on, inspection.position_id
    if day is None:
        return None
    if place is None:
        spell = _ahead(inspection)
        if spell is None:
            return None
        place, day = spell.position_id, spell.installed_on
    duties = PositionDuty.objects.filter(position=place).select_related("tolerance", "unit")
    if inspection.locked_at is not None:
        duties = duties.filter(recorded_at__lte=inspection.locked_at)
    in_force = duties.filter(Q(from_on=None) | Q(from_on__lte=day))
    return max(in_force, key=lambda d: (d.from_on is not None, d.from_on), default=None)


def _ahead(inspection: Inspection) -> Installation | None:
    spells = Installation.objects.filter(
        device=inspection.device_id, installed_on__gt=inspection.done_on
    )
    if inspection.locked_at is not None:
        spells = spells.filter(recorded_at__lte=inspection.locked_at)
    return spells.order_by("installed_on").first()


def _tolerance(pops: Sequence[PopTest], duty: PositionDuty | None) -> ToleranceBand | None:
    """The one the pops were judged by; of a record without pops, the duty's."""
    keys = {pop.tolerance_id for pop in pops if pop.tolerance_id}
    if keys:
        return ToleranceBand.objects.get(pk=min(keys))
    return duty.tolerance if duty and not pops else None


def _derivation(inspection: Inspection, duty: PositionDuty | None, cdtp: Quantity | None) -> str:
    """How the pressure that the pops were judged against came; "" where nothing was judged."""
    if cdtp is None:
        return ""
    worked = _worked(duty, inspection.device.kind, cdtp) if duty else ""
    if inspection.cold_test_pressure is not None:
        return "entered on the record" + (f"; the same follows from {worked}" if worked else "")
    if duty is not None and duty.cold_test_pressure == cdtp:
        return "entered for the position" + (f"; the same follows from {worked}" if worked else "")
    return worked or UNTOLD


def _worked(duty: PositionDuty, kind: str, cdtp: Quantity) -> str:
    """What in the duty gives this very pressure; "" where something else, or nothing, follows."""
    multiplier = duty.temperature_multiplier
    if duty.set_pressure is None:
        return ""
    try:
        given = cold_test_pressure(
            duty.set_pressure,
            kind=kind,
            back_pressure=duty.back_pressure,
            back_pressure_kind=duty.back_pressure_kind,
            multiplier=None if multiplier is None else Fraction(multiplier),
        )
    except NoColdTestPressure:
        return ""
    if given.pressure != cdtp:
        return ""
    if multiplier is None:
        return given.words
    return given.words.replace(f"times {Fraction(multiplier)}", f"times {multiplier.normalize():f}")


def _settings(record: Record, targets: Sequence[Target]) -> Iterator[SettingLine]:
    by_name = {target.setting: target for target in targets}
    read: dict[str, dict[str, SettingReading]] = {}
    for reading in record.settings:
        read.setdefault(reading.setting, {})[reading.stage] = reading
    order = [name for name in by_name if name in read]
    for name in [*order, *sorted(set(read) - set(order))]:
        found, left = read[name].get(Stage.AS_FOUND), read[name].get(Stage.AS_LEFT)
        yield SettingLine(
            words_of(name),
            found,
            left,
            _difference(found, left),
            _against(left, by_name.get(name), record.inspection.done_on),
        )


def _difference(found: SettingReading | None, left: SettingReading | None) -> str:
    """As left less as found, or why the two are not subtracted."""
    if found is None or left is None or found.value is None or left.value is None:
        return ""
    if not (found.datum.strip() and left.datum.strip()):
        return "not comparable: a datum is not recorded"
    was = SettingValue(found.value, found.datum, found.value.dimension)
    now = SettingValue(left.value, left.datum, left.value.dimension)
    if why := obstacle(now, was):
        return f"not comparable: {why}"
    moved = left.value.to(found.value.unit) - found.value
    return "not moved" if not moved.magnitude else signed(moved)


def _against(left: SettingReading | None, target: Target | None, on: date | None) -> str:
    if left is None or left.value is None or target is None or target.value is None:
        return ""
    said = target.compared(left.value, left.datum, left.datum_reason, on).words
    given = target.instruction
    source = f"instruction {given.source}" if given else f"as record {target.ref} left it"
    return f"target {target.value}, {source}: {said}"
