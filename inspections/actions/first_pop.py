"""The first pop stays the first: it is corrected in the open, and never becomes another."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from fleet import clock
from fleet.calc.units import Quantity
from fleet.faults import Fault, Refused
from fleet.models import User
from inspections.models import Inspection, PopTest, Stage

FIRST = (Stage.AS_FOUND, 1)


def keep_first(
    inspection: Inspection, pops: Mapping[Any, dict | None], why: str, *, by: User, at: datetime
) -> None:
    """Lay what is written over the stored first pop: another figure needs a reason, which goes
    into the remarks with both figures and a name. Raises Refused without one, and where a later
    pop would take the first one's place. Changes `inspection` and saves nothing."""
    if FIRST not in pops or inspection.corrects_id:  # a correction shows the old record beside it
        return
    rows = PopTest.objects.filter(inspection=inspection, stage=Stage.AS_FOUND)
    stored = {row.order: row for row in rows.exclude(pressure=None)}
    first, given = stored.get(1), pops[FIRST]
    if first is None or _said(given) == _said(vars_of(first)):
        return
    later = [row.pressure for order, row in stored.items() if order > 1]
    now = [given["pressure"] for key, given in pops.items() if _is_later(key) and given]
    if given and given.get("pressure") in later and given.get("pressure") not in now:
        words = f"the first pop was {words_of(vars_of(first))}; a later one never takes its place"
        raise Refused([Fault("first_pop", str(given["pressure"]), words)])
    if not why:
        words = f"why the first pop is no longer {words_of(vars_of(first))}"
        raise Refused([Fault("first_pop_correction", "", words)])
    line = f"First pop corrected from {words_of(vars_of(first))} to {words_of(given)}"
    line = f"{line} by {by.name}, {clock.day_of(at).isoformat()}: {why}"
    inspection.remarks = f"{inspection.remarks}\n{line}".strip()


def _is_later(key: tuple[str, int]) -> bool:
    return key[0] == Stage.AS_FOUND and key[1] > 1


def vars_of(pop: PopTest) -> dict:
    return {"pressure": pop.pressure, "bound": pop.bound}


def _said(given: dict | None) -> tuple[Quantity | None, str]:
    return (given.get("pressure"), given.get("bound") or "") if given else (None, "")


def words_of(given: dict | None) -> str:
    pressure, bound = _said(given)
    if pressure is None:
        return "nothing"
    return f"no lift at {pressure}" if bound == PopTest.Bound.ABOVE else str(pressure)
