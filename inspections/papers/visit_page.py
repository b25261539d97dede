"""One visit of a work pack on a page: what to do there, what to put back, and boxes to write in."""

from collections.abc import Iterator

from fleet.calc.coverage import CAUTION
from fleet.drawings.axis import day_words
from fleet.models import PositionDuty
from fleet.papers.listing import Cell, Column, Words
from fleet.papers.sheets import MARGIN, TOP, WIDTH, Sheets
from fleet.reports.reasons import activity_words
from inspections.actions.assess import POPPED
from inspections.actions.discs import CHANGES
from inspections.papers.job_blanks import FEW, RULES, cautions_of, device_facts, last_pops, record
from inspections.papers.qr import draw_qr
from inspections.reports.visits import Task, Visit

CODE = 66.0  # side of the code, quiet zone included
HAZARD = "Treat the device as hazardous until it is proved empty."
ISOLATION = {
    "none": "No block valve is recorded here: the equipment itself has to be down, drained and"
    " vented.",
    "block": "A block valve is recorded here.",
    "block_with_spare": "A block valve with a spare is recorded here.",
    "changeover": "A changeover is recorded here: prove which side is on duty.",
}
BLOCKED = (
    "Before a block valve is closed: permission and alternate protection. Inlet before outlet,"
    " vent the body at once, blind open lines. After refit: take the lever's wire off; block"
    " valves open and locked."
)
ON_STREAM = (
    "On stream: the equipment stays under pressure. What protects it meanwhile, and how this place"
    " is isolated, must be approved before anything is closed or taken out. This page approves"
    " nothing."
)
TASKS = (
    Column("To do", 122),
    Column("Due, and why", 327.2),
    Column("Bench hours", 58),
)


def page(sheets: Sheets, visit: Visit, number: int, address: str, spare: str = "") -> None:
    """On a fresh sheet; what one sheet does not hold goes on upon the next.

    address: what the code opens. spare: the one picked to stand in, if any.
    """
    draw_qr(sheets.canvas, address, WIDTH - MARGIN - CODE, TOP - CODE + 6, CODE)
    sheets.heading(f"{number}  {visit.position.tag}", list(_lede(visit)), beside=CODE - 4)
    for text, ink in _notes(visit):
        sheets.note(text, ink)
    sheets.table(TASKS, [_task(task) for task in visit.tasks])
    sheet = visit.sheet()
    facts = [*(device_facts(sheet) if sheet else ()), *_duty(visit), ("Spare picked", spare)]
    sheets.facts(facts, columns=6)
    for name, value in last_pops(sheet) if sheet else ():
        sheets.words(f"{name}: {value}")
    _before(sheets, visit)
    beside = [task.activity for task in visit.tasks if _is_beside(task, visit)]
    if beside:
        sheets.boxes([f"{activity_words(name).capitalize()}: day, by" for name in beside])
    if sheet is None:
        _nothing_fitted(sheets)
    elif visit.main == "capacity_review":
        _review(sheets)
    else:
        record(sheets, sheet, FEW)


def _is_beside(task: Task, visit: Visit) -> bool:
    """Done at the same visit, and not by the work whose record this is."""
    return task.activity != visit.main and not task.covered_by and task.done_on is None


def _lede(visit: Visit) -> Iterator[str]:
    work, device, place = activity_words(visit.main), visit.device, visit.position
    of = f"{device}, {device.get_kind_display()}" if device else "what is not fitted"
    yield f"{work[:1].upper()}{work[1:]} of {of}. {place.unit}, {place.site}."
    opens = "its job at the bench" if visit.open_job else "its page"
    yield f"{_when(visit)} {day_words(visit.planned_on)}. The code opens {opens}."


def _when(visit: Visit) -> str:
    if visit.is_on_stream:
        return "On stream, in the week of"
    return "On" if visit.is_planned else "In the outage that begins on"


def _notes(visit: Visit) -> Iterator[tuple[str, str]]:
    """What must be seen first."""
    if visit.is_on_stream:
        yield ON_STREAM, "late"
    if visit.coverage is not None:
        yield f"With this place alone out: {visit.coverage.words}. {CAUTION}", "soon"
    if visit.device is None:
        yield "Nothing is fitted here now: find out what is to be done before anything is.", "late"
    for proposal in visit.proposals:
        days = day_words(proposal.raised_on)
        yield f"Open proposal, {proposal.get_kind_display()}, {days}: {proposal.reason}", "soon"
    for question in visit.questions:
        yield f"Open question: {question.text}", "soon"


def _task(task: Task) -> list[Cell]:
    what = activity_words(task.activity)
    head = [Words(what[:1].upper() + what[1:], is_bold=True)]
    if task.covered_by:
        head.append(Words(f"done by the {activity_words(task.covered_by)}", "soft"))
    words = f"due {day_words(task.due_on)}" if task.due_on else "no due date"
    due = [Words(words)]
    if task.done_on is not None:
        due.append(Words(f"done {day_words(task.done_on)}, since the plan was made", "good"))
    due.append(Words(task.since, "soon"))
    if task.days_late:
        due.append(Words(f"{task.days_late} days late by then", "late"))
    if task.deferred_until:
        due.append(Words(f"deferred until {day_words(task.deferred_until)}", "soon"))
    if not task.covered_by:
        due.append(Words(task.reason, "soft"))
    hours = "not given" if task.hours is None else f"{task.hours.normalize():f}"
    return [head, due, [Words(hours)]]


def _duty(visit: Visit) -> Iterator[tuple[str, str]]:
    """What the place asks; a value that was never given is said to be missing where it matters."""
    equipment, duty = visit.position.equipment, visit.duty
    yield "Protects", str(equipment) if equipment else "not recorded"
    mawp = equipment.mawp if equipment else None
    yield "MAWP", str(mawp) if mawp else "not recorded"
    if duty is not None:
        yield "Fluid", ", ".join(filter(None, [duty.fluid, _phase(duty)])) or "not recorded"
        yield "Discharges to", duty.get_discharge_display() or "not recorded"
        yield "Back pressure", _back(duty)
    partners = [f"{m.position.tag} ({m.get_role_display()})" for m in visit.partners]
    yield "Stands with", ", ".join(partners)


def _phase(duty: PositionDuty) -> str:
    return "" if duty.phase == PositionDuty.Phase.UNKNOWN else duty.get_phase_display()


def _back(duty: PositionDuty) -> str:
    amount = str(duty.back_pressure) if duty.back_pressure else ""
    return " ".join(filter(None, [amount, duty.get_back_pressure_kind_display()]))


def _before(sheets: Sheets, visit: Visit) -> None:
    """The cautions that belong to this place and to this kind of device."""
    isolation = visit.duty.isolation if visit.duty else "none"
    lines = [ISOLATION[isolation]]
    if isolation != "none":
        lines[0] += f" {BLOCKED}"
    is_handled = visit.main in (*POPPED, *CHANGES)
    own = cautions_of(visit.device) if visit.device and is_handled else (HAZARD, RULES)
    sheets.y -= 3
    sheets.words("  ".join(f"△ {words}" for words in (*lines, *own)))


def _nothing_fitted(sheets: Sheets) -> None:
    sheets.section("What was found and done", room=100)
    sheets.boxes(["Device found, serial", "Device fitted, serial", "Day", "By"])
    sheets.boxes(["What was seen"], columns=1, height=60)


def _review(sheets: Sheets) -> None:
    sheets.section("Capacity review", room=120)
    sheets.boxes(["Required, with its source", "Rated, with its source"], columns=2, height=34)
    sheets.boxes(["Found"], columns=1, height=60)
    sheets.boxes(["Done by", "Day", "Checked by another person", "Day"])
