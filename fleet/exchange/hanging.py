"""Rows that hang on one obligation: which one is meant, and what is never rewritten.

A decision or a deferral that is recorded stays as it is; a sheet that says otherwise is at fault.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from datetime import date
from typing import Any

from django.db import models
from django.db.models import Exists, F, OuterRef, Q

from fleet.calc.activities import ACTIVITIES
from fleet.exchange import cells
from fleet.exchange.compare import same, shown
from fleet.exchange.people import people_of
from fleet.exchange.places import position_of
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.models import Deferral, IntervalDecision, Obligation, Site

OWNER = (
    Column("site", cells.telling(120)),
    Column("tag", cells.text(80), required=True),
    Column("activity", cells.word(ACTIVITIES), required=True),
)
Hung = IntervalDecision | Deferral
SIGNERS: dict[type[Hung], str] = {IntervalDecision: "decided_by", Deferral: "approved_by"}
Accepts = Callable[[Row, Obligation], bool]


def anything(row: Row, owed: Obligation) -> bool:
    """Every new row is accepted."""
    return True


def load(
    run: Run,
    rows: Sequence[Row],
    sheet: Sheet,
    model: type[Hung],
    write: Callable,
    accepts: Accepts = anything,
) -> None:
    """Write rows that are new and accepted; one that differs from what is recorded is a fault.

    accepts: asked of new rows alone; says what is wrong with a row and answers False.
    """
    signer, day = SIGNERS[model], sheet.key[-1]
    people, owned = people_of(run, rows, signer), _owned()
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
        if stored is None and accepts(row, owed):
            thing = model(obligation=owed, **values)
            known[owed.pk, row.on(day)] = thing
            fresh.append(thing)
            run.wrote(row, thing)
        elif stored is not None and stored.pk is None:
            run.say(row.fault(day, "this day once for this activity", code="duplicate"))
        elif stored is not None:
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
    for row in Obligation.objects.select_related("rule", "position").order_by("pk"):
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


def _is_owed(owed: Obligation, day: date) -> bool:
    return (owed.from_on or date.min) <= day < (owed.until_on or date.max)


def dump(site: Site | None, model: type[Hung], sheet: Sheet) -> Iterator[dict[str, str]]:
    """Each once: what went on under a rule that replaced another stands with that one alone."""
    rows = model._default_manager.select_related("obligation__position__site", SIGNERS[model])
    rows = rows.filter(obligation__position__site=site) if site else rows
    day = sheet.key[-1]
    twin = model._default_manager.filter(
        obligation__position=OuterRef("obligation__position"),
        obligation__activity=OuterRef("obligation__activity"),
        **{day: OuterRef(day)},
    ).exclude(obligation=OuterRef("obligation"))
    rows = rows.exclude(Q(Exists(twin), obligation__until_on__lte=F(day)))
    for thing in rows.iterator(chunk_size=2000):
        owed = thing.obligation
        yield {column.name: shown(getattr(thing, column.name)) for column in sheet.columns[3:]} | {
            "site": owed.position.site.name,
            "tag": owed.position.tag,
            "activity": owed.activity,
        }
