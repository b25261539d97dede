"""The test certificate of one locked record: everything it says, as it was typed and judged."""

from collections.abc import Iterator
from datetime import date, datetime

from fleet.clock import day_of
from fleet.drawings.axis import day_words
from fleet.models import PositionDuty
from fleet.papers.sheets import Sheets
from fleet.reports.reasons import activity_words
from inspections.actions.assess import POPPED
from inspections.models import Inspection
from inspections.papers.pictures import set_photos
from inspections.papers.readings import set_parts, set_pops, set_settings
from inspections.reports.certificate import Certificate

PROTECTED = "Equipment protected, as named now"  # names of equipment are not dated
CAUTION = (
    "This tool certifies nothing: it keeps the record and does its arithmetic. The owner's"
    " procedures, the maker's instructions, the jurisdiction and licensed practice rule."
)


def pdf(certificate: Certificate) -> bytes:
    """The same record gives the same bytes, on any day."""
    inspection = certificate.inspection
    title = f"{title_of(inspection)} {inspection.ref}"
    sheets = Sheets(title, f"{title}, device {inspection.device}")
    sheets.heading(title, [_lede(inspection)])
    sheets.words(CAUTION, "soft")
    _standing(sheets, certificate)
    _device(sheets, certificate)
    _asked(sheets, certificate)
    set_pops(sheets, certificate)
    set_settings(sheets, certificate)
    set_parts(sheets, certificate)
    _means(sheets, inspection)
    _people(sheets, certificate)
    set_photos(sheets, certificate.record.photos)
    return sheets.end()


def title_of(inspection: Inspection) -> str:
    return "Test certificate" if inspection.activity in POPPED else "Record of work"


def _lede(inspection: Inspection) -> str:
    work = activity_words(inspection.activity)
    day = inspection.done_typed or _day(inspection.done_on) or "a day that is not recorded"
    return f"{work[0].upper()}{work[1:]} of {day}."


def _standing(sheets: Sheets, certificate: Certificate) -> None:
    """Corrections, both ways: nobody may take a replaced paper for the one that stands."""
    old, new = certificate.inspection.corrects, certificate.correction
    if new is not None:
        day = _moment(new.locked_at)
        sheets.note(f"No longer stands: corrected by record {new.ref} of {day}.", "late")
    if old is not None:
        sheets.note(f"Corrects record {old.ref}, which is kept as it was.", "soon")


def _device(sheets: Sheets, certificate: Certificate) -> None:
    inspection, duty = certificate.inspection, certificate.duty
    device, place = inspection.device, inspection.position
    sheets.section("Device and place")
    sheets.facts(
        [
            ("Device", device.number),
            ("Serial", device.serial or "not recorded"),
            ("Model", str(device.model) if device.model else "not recorded"),
            ("Kind", device.get_kind_display()),
            ("Nameplate set", _typed(device.nameplate_set)),
            ("Inlet and outlet", " to ".join(filter(None, [device.inlet, device.outlet]))),
            ("Orifice", device.orifice),
            ("Seat", device.seat),
            *_place(inspection, duty),
            ("Unit", str(duty.unit) if duty else ""),
            (PROTECTED, str(place.equipment) if place and place.equipment else ""),
            ("Site", str(inspection.site) if inspection.site else ""),
            ("Tag on the sheet", inspection.tag_typed),
        ],
        columns=5,
    )


def _place(inspection: Inspection, duty: PositionDuty | None) -> Iterator[tuple[str, str]]:
    """Where it stood; of a device that never stood anywhere, what it was made ready for."""
    tag = duty.tag if duty else str(inspection.position or "")
    if inspection.position is None:
        yield "Position that day", "none: not fitted yet" if tag else "none"
        yield "Made ready for", tag
    else:
        yield "Position that day", tag


def _asked(sheets: Sheets, certificate: Certificate) -> None:
    duty, band = certificate.duty, certificate.tolerance
    sheets.section("What was asked of it")
    if duty is None:
        sheets.words("No duty was on record for that day.", "soft")
    cdtp = str(certificate.cdtp) if certificate.cdtp is not None else "none follows"
    sheets.facts(
        [
            *(_duty_facts(duty) if duty else ()),
            ("Cold differential test pressure", cdtp),
            ("Tolerance", band.code if band else "none given: no pop was judged"),
        ]
    )
    sources = [("How the cold test pressure came", certificate.cdtp_words)]
    if band is not None:
        source = ", ".join(filter(None, [band.citation, band.edition]))
        checked = "" if band.is_verified else "; not checked against a copy"
        sources.append(("Source of the tolerance", f"{source}{checked}"))
    sheets.facts(sources, columns=2)


def _duty_facts(duty: PositionDuty) -> Iterator[tuple[str, str]]:
    yield "Set pressure", _typed(duty.set_pressure) or "not recorded"
    yield "Vacuum set", _typed(duty.vacuum_set)
    if duty.back_pressure is not None:
        kind = duty.get_back_pressure_kind_display()
        yield "Superimposed back pressure", f"{duty.back_pressure}{f', {kind}' if kind else ''}"


def _means(sheets: Sheets, inspection: Inspection) -> None:
    """By what it was measured, and how it went out."""
    sheets.section("Method, gauge and seals")
    medium = inspection.get_medium_display() if inspection.medium else ""
    method = inspection.get_method_display() if inspection.method else "not recorded"
    sheets.facts(
        [
            ("Method", ", ".join(filter(None, [method, medium]))),
            ("Gauge", inspection.gauge or "not recorded"),
            ("Gauge range", inspection.gauge_range or "not recorded"),
            ("Gauge accuracy", inspection.gauge_accuracy or "not recorded"),
            ("Gauge calibration good until", _day(inspection.gauge_due_on) or "not recorded"),
            ("Seal as found", inspection.seal_found or "not recorded"),
            ("Seal and lock-wire as left", inspection.seal_left or "not recorded"),
            ("Disposition", inspection.get_disposition_display() or "not recorded"),
            ("Shop", inspection.shop),
            ("Sent to the shop", _day(inspection.sent_on)),
            ("Back from the shop" if inspection.shop else "Received", _day(inspection.received_on)),
            ("Shop authorization", inspection.shop_authorization),
            ("Certificate number", inspection.certificate),
        ]
    )
    sheets.facts([("Remarks", inspection.remarks)], columns=1)


def _people(sheets: Sheets, certificate: Certificate) -> None:
    inspection, entry = certificate.inspection, certificate.entry
    sheets.section("Who answers for it")
    done = str(inspection.done_by) if inspection.done_by else "not recorded"
    day = _moment(inspection.locked_at)
    facts = [("Done by", done)]
    if inspection.signed_by_id not in (None, inspection.done_by_id):
        facts.append(("Signed for by", str(inspection.signed_by)))
    facts.append(("Signed on", _day(inspection.signed_on) or "not recorded"))
    if inspection.verified_by:
        facts += [("Verified by", str(inspection.verified_by)), ("Verified and locked on", day)]
    elif inspection.accepted_by:
        facts += [("Accepted on load by", str(inspection.accepted_by)), ("Locked on", day)]
    facts.append(("Witnessed by", inspection.witnessed_by))
    facts.append(("Written down by", str(inspection.recorded_by)))
    facts.append(("Written down on", _moment(inspection.recorded_at)))
    if entry is not None:
        digest = " ".join(entry.digest[at : at + 4] for at in range(0, 16, 4))
        facts.append((f"Audit chain, entry {entry.number} begins", digest))
    sheets.facts(facts)


def _typed(quantity) -> str:
    """Any figure as it was typed."""
    return "" if quantity is None else str(quantity)


def _day(day: date | None) -> str:
    return day_words(day) if day else ""


def _moment(moment: datetime | None) -> str:
    return day_words(day_of(moment)) if moment else "not recorded"
