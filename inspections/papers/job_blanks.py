"""What every sheet of a job holds: what is known of the device, and a box for all to be read.

The job sheet has them at full length; a page of a work pack has fewer empty rows.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from fleet.drawings.words import percent_words
from fleet.models import Device
from fleet.papers.listing import Cell, Column, Words
from fleet.papers.sheets import BOXED, Sheets
from inspections.actions.assess import POPPED
from inspections.actions.discs import is_one_shot, noun
from inspections.actions.gates import STRIPS
from inspections.calc.parts import trade_of
from inspections.models import Finding, PopTest
from inspections.papers.job_settings import blank_row, record_words, settings
from inspections.reports.evidence import VERDICT_WORDS
from inspections.reports.job_sheet import JobSheet

RULES = "Your procedure, the maker's instructions and the local code rule."
ONE_SHOT_CAUTIONS = (
    "Isolate, drain and vent both sides before the holder is opened.",
    "What was once taken out is not refitted unless its maker says so.",
    "Torque with a wrench, in the maker's sequence and passes; never by feel.",
    RULES,
)
CAUTIONS = (
    "Treat the valve as hazardous until it is proved empty; carry it upright, lever wired.",
    "Pin in and tight before any pop. Discharge secured, nobody over the outlet, ears protected.",
    "Drop inlet pressure below about 90 % of set before turning the screw: the disc may turn on"
    " its seat.",
    "Write the settings down as found before anything is taken apart.",
    RULES,
)
FIRST = "The first pop, before any cleaning, is the as-found value. Nothing replaces it."
NO_TOLERANCE = "no tolerance given"
POPS = (
    Column("Pop", 74),
    Column("Pressure, with unit", 120),
    Column("What it did", 120),
    Column("Reseat", 97),
    Column("Leak", 96.2),
)
PARTS = (
    Column("Part", 84),
    Column("Seen last time", 130),
    Column("Seen now", 110),
    Column("Done", 104),
    Column("Measured", 79.2),
)


@dataclass(frozen=True)
class Blanks:
    """How much is left empty: rows of pops and of parts, and how high a box is.

    is_short: what belongs together shares a heading and a row, so that most jobs fit one sheet.
    """

    found: tuple[str, ...] = ("First pop", "Second", "Third")
    left: tuple[str, ...] = ("As left", "Again", "Again")
    parts: int = 4
    box: float = BOXED
    is_short: bool = False


FULL = Blanks()
FEW = Blanks(("First pop", "Second"), ("As left",), parts=2, box=17.5, is_short=True)
Section = Callable[[Sheets, JobSheet, Blanks], None]


def cautions_of(device: Device) -> tuple[str, ...]:
    return ONE_SHOT_CAUTIONS if is_one_shot(device) else CAUTIONS


def record(sheets: Sheets, sheet: JobSheet, blanks: Blanks = FULL) -> None:
    """The walk of the job, a numbered section a step; one without a title goes on in the last."""
    number = 0
    for title, room, section in _sections(sheet, blanks):
        number += bool(title)
        if title:
            sheets.section(f"{number}  {title}", room, above=14 if blanks.is_short else 18)
        section(sheets, sheet, blanks)


def _sections(sheet: JobSheet, blanks: Blanks) -> Iterator[tuple[str, float, Section]]:
    """What this work on this device asks for: title, room it needs, and what draws it."""
    job, is_popped, is_short = sheet.job, sheet.job.activity in POPPED, blanks.is_short
    yield "Arrival and as received" if is_short and is_popped else "Arrival", 60, _arrival
    if is_popped:
        room = 98 + blanks.box * len(blanks.found)
        yield "" if is_short else "As received", room, _as_received
        yield "Settings: as found before stripping, then put back", 110, _settings
    if job.activity in STRIPS or sheet.seen or not is_popped:
        yield "Parts", 60 if is_short else 110, _parts
    if is_one_shot(job.device):
        yield f"The {noun(job.device)} that goes in, off its tag", 60, _one_shot
    if is_popped:
        room = 58 + blanks.box * len(blanks.left)
        yield "As left, seal and sign" if is_short else "As left", room, _as_left
    yield "" if is_short and is_popped else "Seal and sign", 90, _sign


def known(sheets: Sheets, sheet: JobSheet) -> None:
    """The device, what is asked of it, and how it popped last."""
    sheets.section("What is known")
    place = str(sheet.job.position) if sheet.job.position else "none"
    sheets.facts([("Position", place), *device_facts(sheet), *last_pops(sheet)])
    sheets.y -= 6


def device_facts(sheet: JobSheet) -> Iterator[tuple[str, str]]:
    duty, device, band = sheet.duty, sheet.job.device, sheet.band
    yield "Device", device.number
    yield "Serial", device.serial or "not recorded"
    yield "Model", str(device.model) if device.model else "not recorded"
    yield "Set pressure", _or_not(duty.set_pressure if duty else None)
    yield "CDTP", _or_not(sheet.cdtp, "does not follow: say what is used")
    yield "Band of the as-found pop", f"{band.low} to {band.high}" if band else NO_TOLERANCE
    yield from _inward(sheet)


def last_pops(sheet: JobSheet) -> Iterator[tuple[str, str]]:
    yield "Last as found", "; ".join(_last(sheet.last_pop)) or "none on record"
    yield "Last as left", "; ".join(_last(sheet.last_left)) or "none on record"


def _inward(sheet: JobSheet) -> Iterator[tuple[str, str]]:
    """What the vacuum side of a vent is held to."""
    if sheet.has_vacuum:
        band = sheet.vacuum_band
        yield "Vacuum set", _or_not(sheet.vacuum_set)
        yield "Band of the vacuum", f"{band.low} to {band.high}" if band else NO_TOLERANCE


def _last(pop: PopTest | None) -> Iterator[str]:
    if pop is None:
        return
    pressure = _or_not(pop.pressure)
    yield f"no lift at {pressure}" if pop.bound == PopTest.Bound.ABOVE else pressure
    if pop.deviation_percent is not None:
        yield percent_words(Fraction(pop.deviation_percent), 2)
    yield VERDICT_WORDS.get(pop.verdict, pop.verdict)
    yield record_words(pop.inspection)


def _arrival(sheets: Sheets, sheet: JobSheet, blanks: Blanks) -> None:
    names = ["Tag that hangs on it", "Seal as found", "Day", "By"]
    sheets.boxes(names, height=blanks.box)
    if not blanks.is_short:
        sheets.boxes(["Condition: deposits, corrosion, damage"], columns=1, height=34)


def _as_received(sheets: Sheets, sheet: JobSheet, blanks: Blanks) -> None:
    sheets.words(FIRST, is_bold=True)
    _pops(sheets, [*blanks.found, *(["Vacuum, first"] if sheet.has_vacuum else [])], blanks)
    if blanks.is_short:
        names = ["No lift, stopped at", "Or waived, because", "Gauge, its range", "Good until"]
        sheets.boxes(names, height=blanks.box)
        return
    sheets.boxes(["No lift, stopped at", "Or the test was waived, because"], columns=2)
    sheets.boxes(["Gauge", "Its range", "Its accuracy", "Calibration good until"])


def _pops(sheets: Sheets, names: list[str], blanks: Blanks) -> None:
    rows = [blank_row(name, POPS) for name in names]
    sheets.table(POPS, rows, blanks=range(1, len(POPS)), boxed=blanks.box)


def _settings(sheets: Sheets, sheet: JobSheet, blanks: Blanks) -> None:
    settings(sheets, sheet, boxed=blanks.box, is_short=blanks.is_short)


def _parts(sheets: Sheets, sheet: JobSheet, blanks: Blanks) -> None:
    if sheet.seen and not blanks.is_short:
        sheets.words(f"Seen last time: {record_words(sheet.seen[0].inspection)}.", "soft")
    rows = [_part(finding) for finding in sheet.seen]
    sheets.table(PARTS, rows, blanks=(2, 3, 4), boxed=blanks.box)
    for _ in range(_empty_parts(sheet, blanks)):
        sheets.row(PARTS, blank_row("", PARTS), blanks=(0, 2, 3, 4), boxed=blanks.box)
    if trade_of(sheet.job.device.kind).is_lapped and not blanks.is_short:
        sheets.boxes([f"Contact check {n}: ring unbroken?" for n in (1, 2, 3, 4)])


def _empty_parts(sheet: JobSheet, blanks: Blanks) -> int:
    return max(1, blanks.parts - len(sheet.seen)) if blanks.is_short else blanks.parts


def _one_shot(sheets: Sheets, sheet: JobSheet, blanks: Blanks) -> None:
    sheets.boxes(
        [
            "Lot",
            "Burst pressure" if noun(sheet.job.device) == "disc" else "Set pressure",
            "Burst temperature",
            "Torque of the studs",
        ]
    )


def _part(finding: Finding) -> list[Cell]:
    measured = " ".join(filter(None, [finding.measure, finding.value]))
    seen = [Words(finding.condition), Words(finding.action, "soft"), Words(measured, "soft")]
    return [[Words(finding.part, is_bold=True)], seen, [], [], []]


def _as_left(sheets: Sheets, sheet: JobSheet, blanks: Blanks) -> None:
    _pops(sheets, [*blanks.left, *(["Vacuum, as left"] if sheet.has_vacuum else [])], blanks)
    if not blanks.is_short:
        sheets.boxes(["A setting off its target: why, and who says so"], columns=1)


def _sign(sheets: Sheets, sheet: JobSheet, blanks: Blanks) -> None:
    last = "Off target: why, who says so" if blanks.is_short else "Witnessed by"
    names = ["Seal and lock-wire number", "Certificate number", "Disposition", last]
    sheets.boxes(names, height=blanks.box)
    names = ["Done by", "Day", "Verified by another person", "Day"]
    sheets.boxes(names, height=blanks.box)


def _or_not(quantity, words: str = "not recorded") -> str:
    return words if quantity is None else str(quantity)
