"""The work pack: a page of contents, then a page a visit, each with a code to its device."""

from collections.abc import Callable, Iterator, Mapping

from django.urls import reverse

from fleet.clock import day_of
from fleet.drawings.axis import day_words
from fleet.models import Outage
from fleet.papers.listing import Cell, Column, Words
from fleet.papers.sheets import Sheets
from fleet.reports.reasons import activity_words
from inspections.papers.visit_page import page
from inspections.reports.visits import Visit
from inspections.reports.work_pack import Pack

CONTENTS = (
    Column("No.", 26),
    Column("Tag", 88),
    Column("Device", 76),
    Column("Spare", 76),
    Column("Work", 106),
    Column("Day", 60),
    Column("Hours", 42),
    Column("Page", 33.2),
)
NO_PLAN = (
    "No plan of this site is accepted. This is the outage's scope by date: every line for which it"
    " is the last outage before the due date, and what is late already. It names no days within"
    " the outage."
)
CAUTIONS = (
    "Permission and alternate protection before any block valve is closed; inlet before outlet,"
    " vent the body at once; blind open lines; block valves opened and locked after refit.",
    "Treat each device as hazardous until it is proved empty. Carry it upright, lever wired; the"
    " wire comes off after refit.",
    "Gag only what is not under test, hand-tight, counted out and back. Ears protected, discharge"
    " secured, nobody over the outlet.",
    "Only qualified people break a seal, adjust or reseal.",
    "This pack keeps the record and does arithmetic; it permits nothing. Your procedures, the"
    " maker's instructions, the local code rule and licensed practice rule.",
)
Progress = Callable[[str, int, int], None]


def _silent(doing: str, done: int, total: int) -> None:
    return None


def pdf(pack: Pack, address: str, progress: Progress = _silent) -> bytes:
    """address: the site's own, `https://host`. The contents are drawn last and laid first."""
    title = _title(pack)
    running = f"{title}, {pack.site}, printed {day_words(pack.printed_on)}"
    sheets, starts = Sheets(title, running), {}
    for number, visit in enumerate(pack.visits, 1):
        progress("drawing the visits", number - 1, len(pack.visits))
        if visit.done_on is not None:  # nothing is left to take along
            continue
        if starts:
            sheets.turn()
        starts[number] = sheets.number
        page(sheets, visit, number, address + path_of(visit), pack.picks.spare_for(visit))
    front = _sheets_of_contents(pack, title, running)
    if starts:
        sheets.turn()
    _contents(sheets, pack, title, {number: front + start for number, start in starts.items()})
    progress("drawing the visits", len(pack.visits), len(pack.visits))
    return sheets.end(front)


def path_of(visit: Visit) -> str:
    """The open job at the bench, else the device, else the place."""
    if visit.open_job is not None:
        return reverse("bench_step", args=[visit.open_job.pk, visit.open_job.step or "arrival"])
    if visit.device is not None:
        return reverse("device", args=[visit.device.pk])
    return reverse("position", args=[visit.position.pk])


def _title(pack: Pack) -> str:
    if pack.outage is None:
        tags = {visit.position.tag for visit in pack.visits}
        return f"Work pack: {', '.join(sorted(tags))}"
    day = f", {day_words(pack.on)}" if pack.on else ""
    return f"Work pack: {pack.outage}{day}"


def _sheets_of_contents(pack: Pack, title: str, running: str) -> int:
    """How many sheets the contents take: the same whatever page numbers stand in them."""
    tried = Sheets(title, running)
    _contents(tried, pack, title, {})
    return tried.number


def _contents(sheets: Sheets, pack: Pack, title: str, starts: Mapping[int, int]) -> None:
    sheets.heading(title, list(_lede(pack)))
    text, is_in_force = source_words(pack)
    sheets.note(text, "good" if is_in_force else "soon")
    sheets.facts(list(_facts(pack)))
    for asked in pack.late_scope:
        answered = f"approved by {asked.answered_by}" if asked.answered_by else "approved"
        words = f"{asked.position}, {asked.reason} ({answered})"
        sheets.note(f"Late scope, and on no page of this pack: {words}", "soon")
    sheets.section("Visits")
    rows = [
        _row(number, visit, starts.get(number), pack.picks.spare_for(visit))
        for number, visit in enumerate(pack.visits, 1)
    ]
    if rows:
        sheets.table(CONTENTS, rows)
    else:
        sheets.words("None.", "soft")
    sheets.section("Before anything is closed, opened or lifted", room=90)
    for words in CAUTIONS:
        sheets.words(f"△ {words}")


def _lede(pack: Pack) -> Iterator[str]:
    outage = pack.outage
    if outage is not None:
        days = f"{day_words(outage.starts_on)} to {day_words(outage.ends_on)}"
        units = ", ".join(unit.name for unit in outage.units.all()) or "no unit"
        yield f"{pack.site}: {units}, {days}."
    yield f"Printed {day_words(pack.printed_on)}, as known that day."


def source_words(pack: Pack) -> tuple[str, bool]:
    """Which plan it is of, or plainly that there is none; and whether all of it is in force."""
    words, is_in_force = _plan_words(pack)
    if pack.outage is not None and pack.outage.status == Outage.Status.CANCELLED:
        return f"This outage is cancelled. {words}", False
    return words, is_in_force


def _plan_words(pack: Pack) -> tuple[str, bool]:
    plan = pack.plan
    if plan is None:
        return NO_PLAN, False
    if plan.accepted_at is None:
        return f"From plan {plan.pk}, which is proposed and not accepted.", False
    day = day_words(day_of(plan.accepted_at))
    words = f"From plan {plan.pk}, accepted {day} by {plan.accepted_by}."
    if plan.followed_by.accepted().exists():
        return f"{words} It is not in force any more: another was accepted after it.", False
    return (words if pack.visits else f"{words} It places nothing here."), True


def _facts(pack: Pack) -> Iterator[tuple[str, str]]:
    yield "Visits", str(len(pack.visits))
    yield "Lines", str(pack.lines)
    yield "Spares picked", str(sum(bool(pack.picks.spare_for(v)) for v in pack.visits))
    yield "Bench hours needed", f"{pack.hours.normalize():f}"
    offered = pack.outage.bench_hours if pack.outage else None
    if pack.outage is not None:
        yield "Offered", "not given" if offered is None else f"{offered.normalize():f}"
    if pack.missing_hours:
        yield "Visits without hours", f"{pack.missing_hours}, and not in the sum"


def _row(number: int, visit: Visit, start: int | None, spare: str) -> list[Cell]:
    work = [activity_words(visit.main)]
    work += [activity_words(t.activity) for t in visit.tasks if t.activity != visit.main]
    late = max((task.days_late for task in visit.tasks), default=0)
    marks = [Words("on stream", "soon")] if visit.is_on_stream else []
    marks += [Words(f"{late} days late by then", "late")] if late else []
    if visit.done_on is not None:
        marks = [Words(f"done {day_words(visit.done_on)}", "good")]
    device, ink = visit.device, "" if visit.is_planned else "soft"
    missing = " and more" if visit.hours else "not given"
    hours = f"{visit.hours.normalize():f}" if visit.hours or not visit.is_missing_hours else ""
    return [
        [Words(str(number), "soft")],
        [Words(visit.position.tag, is_bold=True)],
        [Words(str(device)) if device else Words("nothing fitted", "late")],
        [Words(spare)],
        [Words(", ".join(work)), *marks],
        [Words(day_words(visit.planned_on) if visit.is_planned else "not named", ink)],
        [Words(hours + (missing if visit.is_missing_hours else ""))],
        [Words(str(start) if start else "none", is_bold=True)],
    ]
