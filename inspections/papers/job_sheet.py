"""The job sheet for shops that still print: what is known, and a box for everything to be read."""

from collections.abc import Callable, Iterator
from datetime import date
from fractions import Fraction

from fleet.drawings.axis import day_words
from fleet.drawings.words import percent_words
from fleet.papers.listing import Cell, Column, Words
from fleet.papers.sheets import Sheets
from fleet.reports.reasons import activity_words
from inspections.actions.assess import POPPED
from inspections.actions.discs import is_one_shot, noun
from inspections.actions.gates import STRIPS
from inspections.actions.targets import Target
from inspections.calc.parts import trade_of
from inspections.models import Finding, PopTest
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
SETTINGS = (
    Column("Setting", 72),
    Column("Target, and where it comes from", 132),
    Column("Last as found", 106),
    Column("As found now", 70),
    Column("As left now", 70),
    Column("Two initials", 57.2),
)
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
BLANK_PARTS = 4
Section = Callable[[Sheets, "JobSheet"], None]


def pdf(sheet: JobSheet, printed_on: date) -> bytes:
    """`printed_on` stands at the head: what is known may be another thing tomorrow."""
    job = sheet.job
    title = f"Job sheet {job.ref}"
    sheets = Sheets(title, f"{title}, device {job.device}, printed {day_words(printed_on)}")
    sheets.heading(title, [_lede(sheet, printed_on)])
    if sheet.job.corrects is not None:
        sheets.note(f"This job corrects record {sheet.job.corrects.ref}.", "soon")
    _known(sheets, sheet)
    for words in ONE_SHOT_CAUTIONS if is_one_shot(job.device) else CAUTIONS:
        sheets.words(f"△ {words}")
    for number, (title, room, section) in enumerate(_sections(sheet), start=1):
        sheets.section(f"{number}  {title}", room=room)
        section(sheets, sheet)
    return sheets.end()


def _sections(sheet: JobSheet) -> Iterator[tuple[str, int, Section]]:
    """What this work on this device asks for: title, room it needs, and what draws it."""
    job, is_popped = sheet.job, sheet.job.activity in POPPED
    yield "Arrival", 60, _arrival
    if is_popped:
        yield "As received", 170, _as_received
        yield "Settings: as found before stripping, then put back", 110, _settings
    if job.activity in STRIPS or sheet.seen or not is_popped:
        yield "Parts", 110, _parts
    if is_one_shot(job.device):
        yield f"The {noun(job.device)} that goes in, off its tag", 60, _one_shot
    if is_popped:
        yield "As left", 130, _as_left
    yield "Seal and sign", 90, _sign


def _lede(sheet: JobSheet, printed_on: date) -> str:
    job, work = sheet.job, activity_words(sheet.job.activity)
    place = f"from {job.position}" if job.position else "not fitted anywhere yet"
    return (
        f"{work[0].upper()}{work[1:]} of {job.device}, {place}. Printed {day_words(printed_on)}."
        " What is written here counts once it is entered, signed and verified."
    )


def _known(sheets: Sheets, sheet: JobSheet) -> None:
    job, duty, device = sheet.job, sheet.duty, sheet.job.device
    sheets.section("What is known")
    sheets.facts(
        [
            ("Device", device.number),
            ("Serial", device.serial or "not recorded"),
            ("Model", str(device.model) if device.model else "not recorded"),
            ("Position", str(job.position) if job.position else "none"),
            ("Set pressure", _or_not(duty.set_pressure if duty else None)),
            ("CDTP", _or_not(sheet.cdtp, "does not follow: say what is used")),
            (
                "Band of the as-found pop",
                f"{sheet.band.low} to {sheet.band.high}" if sheet.band else "no tolerance given",
            ),
            ("Last as found", "; ".join(_last(sheet.last_pop)) or "none on record"),
            *_inward(sheet),
        ]
    )
    sheets.y -= 6


def _inward(sheet: JobSheet) -> Iterator[tuple[str, str]]:
    """What the vacuum side of a vent is held to."""
    if sheet.has_vacuum:
        band = sheet.vacuum_band
        yield "Vacuum set", _or_not(sheet.vacuum_set)
        yield "Band of the vacuum", f"{band.low} to {band.high}" if band else "no tolerance given"


def _last(pop: PopTest | None) -> Iterator[str]:
    if pop is None:
        return
    pressure = _or_not(pop.pressure)
    yield f"no lift at {pressure}" if pop.bound == PopTest.Bound.ABOVE else pressure
    if pop.deviation_percent is not None:
        yield percent_words(Fraction(pop.deviation_percent), 2)
    yield VERDICT_WORDS.get(pop.verdict, pop.verdict)
    yield _of(pop.inspection)


def _of(inspection) -> str:
    day = day_words(inspection.done_on) if inspection.done_on else "day not recorded"
    return f"{day}, record {inspection.ref}"


def _arrival(sheets: Sheets, sheet: JobSheet) -> None:
    sheets.boxes(["Tag that hangs on it", "Seal as found", "Day", "By"])
    sheets.boxes(["Condition: deposits, corrosion, damage"], columns=1, height=34)


def _as_received(sheets: Sheets, sheet: JobSheet) -> None:
    sheets.words(FIRST, is_bold=True)
    names = ["First pop", "Second", "Third", *(["Vacuum, first"] if sheet.has_vacuum else [])]
    rows = [_blank(name, POPS) for name in names]
    sheets.table(POPS, rows, blanks=range(1, len(POPS)))
    sheets.boxes(["No lift, stopped at", "Or the test was waived, because"], columns=2)
    sheets.boxes(["Gauge", "Its range", "Its accuracy", "Calibration good until"])


def _settings(sheets: Sheets, sheet: JobSheet) -> None:
    if not sheet.targets:
        sheets.words("No setting is listed for this model, and none was ever left.", "soft")
        sheets.table(SETTINGS, [_blank("", SETTINGS) for _ in range(3)], blanks=(0, 3, 4, 5))
        return
    rows = [_setting(target, sheet) for target in sheet.targets]
    sheets.table(SETTINGS, rows, blanks=(3, 4, 5))


def _setting(target: Target, sheet: JobSheet) -> list[Cell]:
    name = target.words[:1].upper() + target.words[1:]
    direction = f"counts {target.positive}" if target.positive else ""
    last = sheet.last_found.get(target.setting)
    found = [Words("none on record", "soft")]
    if last is not None:
        found = [
            Words(str(last.value)),
            Words(f"from {last.datum}" if last.datum else "datum not recorded", "soft"),
            Words(_of(last.inspection), "soft"),
        ]
    head = [Words(name, is_bold=True), Words(direction, "soft")]
    return [head, list(_target(target)), found, [], [], []]


def _target(target: Target) -> Iterator[Words]:
    """What it is held to; an instruction outranks the last as-left, and both are said."""
    if target.value is None:
        yield Words("no target on record", "soon")
        yield Words(f"count from {target.datum}" if target.datum else "", "soft")
        return
    yield Words(str(target.value), is_bold=True)
    yield Words(f"from {target.value_datum or 'a datum that is not recorded'}")
    if target.instruction is not None:
        yield from _instructed(target)
    elif target.left is not None:
        yield Words(f"as left {_of(target.left.inspection)}", "soft")
    yield Words(target.caution, "soon")


def _instructed(target: Target) -> Iterator[Words]:
    given = target.instruction
    if given is not None:
        yield Words(f"instruction: {given.source}, signed by {given.signed_by}", "soft")
    if target.moved is not None and target.left is not None:
        left = f"last left {target.left_value}, {_of(target.left.inspection)}"
        yield Words(f"{left}: {target.moved.words}", "soon")


def _parts(sheets: Sheets, sheet: JobSheet) -> None:
    if sheet.seen:
        sheets.words(f"Seen last time: {_of(sheet.seen[0].inspection)}.", "soft")
    rows = [_part(finding) for finding in sheet.seen]
    sheets.table(PARTS, rows, blanks=(2, 3, 4))
    for _ in range(BLANK_PARTS):
        sheets.row(PARTS, _blank("", PARTS), blanks=(0, 2, 3, 4))
    if trade_of(sheet.job.device.kind).is_lapped:
        sheets.boxes([f"Contact check {n}: ring unbroken?" for n in (1, 2, 3, 4)])


def _one_shot(sheets: Sheets, sheet: JobSheet) -> None:
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


def _as_left(sheets: Sheets, sheet: JobSheet) -> None:
    names = ["As left", "Again", "Again", *(["Vacuum, as left"] if sheet.has_vacuum else [])]
    rows = [_blank(name, POPS) for name in names]
    sheets.table(POPS, rows, blanks=range(1, len(POPS)))
    sheets.boxes(["A setting off its target: why, and who says so"], columns=1)


def _sign(sheets: Sheets, sheet: JobSheet) -> None:
    sheets.boxes(["Seal and lock-wire number", "Certificate number", "Disposition", "Witnessed by"])
    sheets.boxes(["Done by", "Day", "Verified by another person", "Day"])


def _blank(name: str, columns: tuple[Column, ...]) -> list[Cell]:
    return [[Words(name, is_bold=True)], *([] for _ in columns[1:])]


def _or_not(quantity, words: str = "not recorded") -> str:
    return words if quantity is None else str(quantity)
