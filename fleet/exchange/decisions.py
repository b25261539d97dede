"""The decisions and deferrals sheets: both hang on one obligation; neither is ever rewritten."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from datetime import date
from typing import Any

from django.db import models

from fleet.actions import obligations
from fleet.calc.activities import ACTIVITIES
from fleet.exchange import cells
from fleet.exchange.compare import same, shown
from fleet.exchange.people import people_of
from fleet.exchange.places import position_of
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.faults import NOTE
from fleet.models import Deferral, IntervalDecision, Obligation, ObligationSpan, Site

OWNER = (
    Column("site", cells.telling(120)),
    Column("tag", cells.text(80), required=True),
    Column("activity", cells.word(ACTIVITIES), required=True),
)
DECISIONS = Sheet(
    "decisions",
    ("site", "tag", "activity", "from_on"),
    (
        *OWNER,
        Column("from_on", cells.day(), required=True),
        Column("interval", cells.duration(), required=True),
        Column("act_by", cells.day()),
        Column("reason", cells.text(), required=True),
        Column("evidence", cells.text()),
        Column("decided_by", cells.person(), required=True),
    ),
)
DEFERRALS = Sheet(
    "deferrals",
    ("site", "tag", "activity", "due_on"),
    (
        *OWNER,
        Column("due_on", cells.day(), required=True),
        Column("until_on", cells.day(), required=True),
        Column("policy", cells.word(Deferral.Policy.values), required=True),
        Column("reason", cells.text(), required=True),
        Column("interim_measure", cells.text()),
        Column("document", cells.text(200)),
        Column("notified_on", cells.day(past=True)),
        Column("approved_by", cells.person(), required=True),
        Column("approved_on", cells.day(past=True), required=True),
    ),
)
Hung = IntervalDecision | Deferral


def load_decisions(run: Run, rows: Sequence[Row]) -> None:
    ordered = []
    for row in rows:
        act_by = row.on("act_by")
        if act_by is None or act_by >= row.on("from_on"):
            ordered.append(row)
        else:
            words = f"no day before the decision holds, {row.on('from_on')}"
            run.say(row.fault("act_by", words, code="contradiction"))
    _load(run, ordered, DECISIONS, IntervalDecision, "decided_by", obligations.decide)


def load_deferrals(run: Run, rows: Sequence[Row]) -> None:
    ordered = []
    for row in rows:
        if row.on("until_on") > row.on("due_on"):
            ordered.append(row)
        else:
            words = f"a day after the due date it passes, {row.on('due_on')}"
            run.say(row.fault("until_on", words, code="contradiction"))
    _load(run, ordered, DEFERRALS, Deferral, "approved_by", obligations.defer)


def _load(
    run: Run, rows: Sequence[Row], sheet: Sheet, model: type[Hung], signer: str, write: Callable
) -> None:
    """Write rows that are new; a row that differs from what is recorded is a fault."""
    people, owned = people_of(run, rows, signer), _owned()
    day = sheet.key[-1]
    known = {
        (row.obligation_id, getattr(row, day)): row
        for row in model._default_manager.select_related(signer)
    }
    fresh: list[Hung] = []
    for row in rows:
        owed = _obligation_of(run, row, owned, row.on(day))
        if owed is None:
            continue
        values = {column.name: _value(row, column.name) for column in sheet.columns[3:]}
        values[signer] = people[row[signer].casefold()]
        stored = known.get((owed.pk, row.on(day)))
        if stored is None:
            thing = model(obligation=owed, **values)
            known[owed.pk, row.on(day)] = thing
            fresh.append(thing)
            run.wrote(row, thing)
        elif stored.pk is None:
            run.say(row.fault(day, "this day once for this activity", code="duplicate"))
        else:
            _say_changes(run, row, stored, values)
    write(fresh, by=run.by, at=run.at)
    run.count(f"{sheet.name} added", len(fresh))
    run.touched.update(thing.obligation.position_id for thing in fresh)


def _value(row: Row, name: str) -> Any:
    if name == "act_by" or name.endswith("_on"):
        return row.on(name)
    return row.text(name)


def _say_changes(run: Run, row: Row, stored: models.Model, values: dict[str, Any]) -> None:
    for name, value in values.items():
        held = getattr(stored, name)
        if row.given(name) and not same(value, held):
            words = f"{shown(held) or 'empty'}, as recorded: what was decided is never rewritten"
            run.say(row.fault(name, words, code="dated_fact"))


def _owned() -> dict[tuple[int, str], list[Obligation]]:
    groups: dict[tuple[int, str], list[Obligation]] = defaultdict(list)
    for row in Obligation.objects.select_related("rule").order_by("pk"):
        groups[row.position_id, row.activity].append(row)
    return groups


def _obligation_of(run: Run, row: Row, owned: dict, day: date) -> Obligation | None:
    """The one obligation meant: the only one, of several the only one owed that day, of those
    the only one that lives by decisions."""
    position = position_of(run, row)
    if position is None:
        return None
    found = owned.get((position.pk, row["activity"]), [])
    if len(found) > 1:
        found = [owed for owed in found if _is_owed(owed, day)] or found
    if len(found) > 1:
        found = [owed for owed in found if owed.rule.kind == "by_history"] or found
    if len(found) == 1:
        return found[0]
    words = "an activity that this position owes"
    if found:
        words = "an activity owed under one rule; here several rules ask for it"
    run.say(row.fault("activity", words, code="unknown"))
    return None


def say_idle_deferrals(run: Run) -> None:
    """A deferral of a day that no clock gives defers nothing, and must not be believed to. Ask
    when the due dates of the run are in."""
    for row, deferral in run.written.get(DEFERRALS.name, []):
        spans = ObligationSpan.objects.known().filter(obligation=deferral.obligation_id)
        if not spans.filter(due_on=deferral.due_on).exists():
            given = spans.exclude(due_on=None).order_by("due_on").values_list("due_on", flat=True)
            days = ", ".join(str(day) for day in given.distinct()) or "none yet"
            words = f"defers nothing: no due date of this obligation; there are {days}"
            run.say(row.fault("due_on", words, severity=NOTE, code="idle_deferral"))


def _is_owed(owed: Obligation, day: date) -> bool:
    return (owed.from_on or date.min) <= day < (owed.until_on or date.max)


def dump_decisions(site: Site | None) -> Iterator[dict[str, str]]:
    return _dump(site, IntervalDecision, DECISIONS)


def dump_deferrals(site: Site | None) -> Iterator[dict[str, str]]:
    return _dump(site, Deferral, DEFERRALS)


def _dump(site: Site | None, model: type[Hung], sheet: Sheet) -> Iterator[dict[str, str]]:
    signer = "decided_by" if model is IntervalDecision else "approved_by"
    rows = model._default_manager.select_related("obligation__position__site", signer)
    rows = rows.filter(obligation__position__site=site) if site else rows
    for thing in rows.iterator(chunk_size=2000):
        owed = thing.obligation
        yield {column.name: shown(getattr(thing, column.name)) for column in sheet.columns[3:]} | {
            "site": owed.position.site.name,
            "tag": owed.position.tag,
            "activity": owed.activity,
        }
