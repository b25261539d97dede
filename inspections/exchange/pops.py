"""Pops as an inspections row carries them: into rows of their own, and back into cells."""

from collections.abc import Iterable
from typing import Any

from fleet.exchange.run import Run
from fleet.exchange.sheets import Row
from inspections.models import PopTest, Stage

COLUMNS = (
    "first_pop",
    "first_pop_result",
    "later_pops",
    "no_lift_at",
    "as_left_pop",
    "reseat",
    "leak_rate",
)
NO_LIFT = PopTest.Result.NO_LIFT


def pops_of(run: Run, row: Row) -> list[PopTest]:
    """The pops a row gives; contradictions are said."""
    _say_contradictions(run, row)
    return pops_from({name: row[name] for name in COLUMNS})


def pops_from(cell: dict[str, Any]) -> list[PopTest]:
    """Pops from the values of the pop columns."""
    found = []
    first, stopped, result = cell["first_pop"], cell["no_lift_at"], cell["first_pop_result"]
    if first is not None or stopped is not None or result:
        is_stopped = stopped is not None
        pop = PopTest(stage=Stage.AS_FOUND, order=1, pressure=stopped if is_stopped else first)
        pop.bound = PopTest.Bound.ABOVE if is_stopped else PopTest.Bound.EXACT
        pop.result = result or (NO_LIFT if is_stopped else "")
        found.append(pop)
    for order, pressure in enumerate(cell["later_pops"] or (), 2):
        found.append(PopTest(stage=Stage.AS_FOUND, order=order, pressure=pressure))
    has_seat = cell["reseat"] is not None or cell["leak_rate"] is not None
    if cell["as_left_pop"] is not None or (has_seat and not found):
        found.append(PopTest(stage=Stage.AS_LEFT, order=1, pressure=cell["as_left_pop"]))
    if has_seat:
        # reseat and leakage belong to the last state known: as left, else to the first pop
        last = found[-1] if found[-1].stage == Stage.AS_LEFT else found[0]
        last.reseat, last.leak_rate = cell["reseat"], cell["leak_rate"]
    return found


def _say_contradictions(run: Run, row: Row) -> None:
    first, stopped, result = row["first_pop"], row["no_lift_at"], row["first_pop_result"]
    if first is not None and stopped is not None:
        words = "a first pop or the pressure at which it had not lifted, not both"
        run.say(row.fault("no_lift_at", words, code="contradiction"))
    if first is not None and result == NO_LIFT:
        words = "another result, or the pressure under no_lift_at instead of first_pop"
        run.say(row.fault("first_pop_result", words, code="contradiction"))
    if stopped is not None and result not in (None, NO_LIFT):
        words = "no_lift or nothing, since no_lift_at is given"
        run.say(row.fault("first_pop_result", words, code="contradiction"))
    if row["later_pops"] and first is None and stopped is None and not result:
        words = "the first pop, or no_lift_at, before later ones"
        run.say(row.fault("first_pop", words, code="contradiction"))
    if row["waived_reason"] and (first is not None or stopped is not None):
        words = "a first pop or why the test was waived, not both"
        run.say(row.fault("waived_reason", words, code="contradiction"))


def cells_of(pops: Iterable[PopTest]) -> dict[str, Any]:
    """The values of the pop columns from stored pops; the reverse of `pops_from`."""
    found = sorted((p for p in pops if p.stage == Stage.AS_FOUND), key=lambda pop: pop.order)
    left = max((p for p in pops if p.stage == Stage.AS_LEFT), key=_order, default=None)
    first = found[0] if found else None
    last = left or first
    is_stopped = first is not None and first.bound == PopTest.Bound.ABOVE
    return {
        "first_pop": first.pressure if first and not is_stopped else None,
        "no_lift_at": first.pressure if first and is_stopped else None,
        "first_pop_result": first.result if first else "",
        "later_pops": tuple(pop.pressure for pop in found[1:]),
        "as_left_pop": left.pressure if left else None,
        "reseat": last.reseat if last else None,
        "leak_rate": last.leak_rate if last else None,
    }


def _order(pop: PopTest) -> int:
    return pop.order
