"""What the rules and tolerances sheets have in common: the owner's own, each under its id."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from fleet.exchange.cells import CLEAR_WORD
from fleet.exchange.compare import same, shown
from fleet.exchange.run import Run
from fleet.exchange.sheets import Row
from fleet.faults import NOTE, Fault
from fleet.models import IntervalRule, ToleranceBand

Sourced = IntervalRule | ToleranceBand


def once(run: Run, rows: Iterable[Row]) -> Iterator[Row]:
    """Each id once."""
    seen: dict[str, int] = {}
    for row in rows:
        first = seen.setdefault(row["id"], row.number)
        if first == row.number:
            yield row
        else:
            run.say(row.fault("id", f"an id once; it is in row {first} too", code="duplicate"))


def refuse(run: Run, noun: str, row: Row, faults: Iterable[Fault]) -> None:
    """Say faults at a row; rows of other sheets that name its id need not be told again."""
    for fault in faults:
        run.say(replace(fault, sheet=row.sheet, row=row.number))
        run.mark_broken(noun, row["id"])


def say_unsourced(run: Run, row: Row) -> None:
    if not row["citation"]:
        words = "where it comes from; without it, it is the owner's own word"
        run.say(row.fault("citation", words, severity=NOTE, code="no_citation"))


def differences(
    row: Row, stored: Sourced, names: Sequence[str], code: str = "dated_fact"
) -> Iterator[Fault]:
    """A fault for every plain column that says otherwise than what is recorded."""
    for name in names:
        value = row.on(name) if name == "from_on" else row[name]
        held = getattr(stored, name)
        if row.given(name) and not same(value, held):
            yield row.fault(name, never_rewritten(shown(held)), code=code)


def cleared(row: Row, names: Sequence[str]) -> Iterator[Fault]:
    """A fault for every column to be cleared: what is in use is never taken away."""
    for name in names:
        if row.given(name) and row[name] is None:
            words = "what it is, as recorded: a new id replaces it, and none is taken away"
            yield row.fault(name, words, typed=CLEAR_WORD, code="dated_fact")


def never_rewritten(held: str) -> str:
    return f"{held or 'empty'}, as recorded: give a new id that replaces it"


def in_turn(
    run: Run, noun: str, fresh: Mapping[str, tuple[Row, Any]], is_known: Callable[[str], bool]
) -> Iterator[tuple[Row, Any]]:
    """Rows after the row that they replace. One that replaces nothing known is said."""
    waiting, ready = dict(fresh), set()
    while waiting:
        turn = [
            code
            for code, (row, _) in waiting.items()
            if not row["replaces"] or row["replaces"] in ready or is_known(row["replaces"])
        ]
        if not turn:
            break
        for code in turn:
            ready.add(code)
            yield waiting.pop(code)
    for row, _ in waiting.values():
        if run.is_broken(noun, row["replaces"]):
            run.mark_broken(noun, row["id"])
            continue
        words = "an id of the library, the register or another row of this sheet"
        refuse(run, noun, row, [row.fault("replaces", words, code="unknown")])
