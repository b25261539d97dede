"""What a job's pops are judged by, and how that came: shown while they are typed."""

from dataclasses import dataclass

from fleet.calc.duty import NoColdTestPressure
from fleet.calc.units import Quantity
from fleet.models import PositionDuty, ToleranceBand
from inspections.actions.assess import band_by, band_of, derivation, duty_of, reference_pressure
from inspections.actions.context import context_of
from inspections.actions.vacuum import vacuum_asked
from inspections.calc import pops, tightness
from inspections.calc.vacuum import why_no_vacuum
from inspections.calc.verdicts import Band
from inspections.models import Inspection, Method

ASSISTED = (Method.IN_PLACE_ASSIST,)


@dataclass(frozen=True)
class Basis:
    """reference: the cold test pressure; words: how it came, or why there is none.

    own: what the site leaves valves within, and its band; None where nothing was entered.
    """

    duty: PositionDuty | None
    reference: Quantity | None
    words: str
    band: Band | None
    own: ToleranceBand | None = None
    own_band: Band | None = None

    @property
    def stuck_at(self) -> Quantity | None:
        return pops.stuck_shut_at(self.reference) if self.reference else None


def basis_of(inspection: Inspection) -> Basis:
    """By the duty of the position served on the day of the work; a few queries."""
    context = context_of([inspection])
    duty, own = duty_of(inspection, context), context.own_tolerance(inspection)
    reference = reference_pressure(inspection, duty)
    band, own_band = band_of(duty, reference), band_by(own, duty, reference)
    return Basis(duty, reference, _words(inspection, duty), band, own, own_band)


def vacuum_basis_of(inspection: Inspection) -> Basis:
    """The vacuum side of a vent: about its own set, with no cold test pressure between."""
    duty = duty_of(inspection, context_of([inspection]))
    reference, band = vacuum_asked(duty)
    if duty is None:
        words = "no position on record says what is asked of this device"
    elif duty.vacuum_set is None:
        words = f"no vacuum set is on record for {duty.tag}"
    else:
        words = why_no_vacuum(duty.vacuum_set) or f"the vacuum set of {duty.tag}"
    return Basis(duty, reference, words, band)


def _words(inspection: Inspection, duty: PositionDuty | None) -> str:
    if inspection.cold_test_pressure is not None:
        return "as typed on this record"
    if duty is None:
        return "no position on record says what is asked of this device"
    if duty.cold_test_pressure is not None:
        return f"as given for {duty.tag}"
    try:
        found = derivation(duty, inspection.device.kind)
    except NoColdTestPressure as error:
        return str(error)
    return found.words if found else f"no set pressure is on record for {duty.tag}"


@dataclass(frozen=True)
class Tightness:
    """The seat test of this job: at what pressure, and how much may leak; or why not known."""

    test_at: Quantity | None
    test_words: str
    limit: tightness.Allowed | None
    limit_words: str


def tightness_of(inspection: Inspection, basis: Basis) -> Tightness:
    """On a bench the seat is tested below the cold test pressure; the table goes by the set."""
    if basis.reference is None or basis.duty is None or basis.duty.set_pressure is None:
        missing = "no cold test pressure and set are on record to reckon it from"
        return Tightness(None, missing, None, missing)
    test_at, limit = None, None
    test_words = f"below {basis.reference} by the greater of 10 % and 5 psi ({tightness.SOURCE})"
    try:
        test_at = tightness.pressure_to_test(basis.reference)
    except tightness.NoTightness as error:
        test_words = str(error)
    device = inspection.device
    try:
        limit = tightness.allowed(
            basis.duty.set_pressure,
            orifice=device.orifice,
            seat=device.seat,
            medium=inspection.medium,
            inlet=device.inlet,
        )
        limit_words = limit.words
    except tightness.NoTightness as error:
        limit_words = str(error)
    return Tightness(test_at, test_words, limit, limit_words)
