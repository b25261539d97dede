"""The first pop stays the first: it is corrected in the open, and never becomes another."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from fleet import clock
from fleet.calc.units import Quantity
from fleet.faults import Fault, Refused
from fleet.models import User
from inspections.models import Inspection, PopStage, PopTest, Stage

FIRST = (Stage.AS_FOUND, 1)
FIRST_VACUUM = (PopStage.VACUUM_FOUND, 1)


def keep_first(
    inspection: Inspection, pops: Mapping[Any, dict | None], why: str, *, by: User, at: datetime
) -> None:
    """Lay what is written over the stored first pop: another figure needs a reason, which goes
    into the remarks with both figures and a name. Raises Refused without one, and where a later
    pop would take the first one's place. Changes `inspection` and saves nothing."""
    if inspection.corrects_id:  # a correction shows the old record beside it
        return
    if FIRST in pops:
        _keep_pressure(inspection, pops, why, by=by, at=at)
    if FIRST_VACUUM in pops:
        stored = PopTest.objects.filter(inspection=inspection, stage=PopStage.VACUUM_FOUND).first()
        given = pops[FIRST_VACUUM]
        if stored is None or stored.pressure is None or _said(given) == _said(vars_of(stored)):
            return
        _correct(inspection, "vacuum pop", vars_of(stored), given, why, by=by, at=at)


def _keep_pressure(
    inspection: Inspection, pops: Mapping[Any, dict | None], why: str, *, by: User, at: datetime
) -> None:
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
    _correct(inspection, "pop", vars_of(first), given, why, by=by, at=at)


def _correct(
    inspection: Inspection,
    what: str,
    was: dict,
    given: dict | None,
    why: str,
    *,
    by: User,
    at: datetime,
) -> None:
    """Both figures, the reason and the name go into the remarks."""
    if not why:
        words = f"why the first {what} is no longer {words_of(was)}"
        raise Refused([Fault("first_pop_correction", "", words)])
    line = f"First {what} corrected from {words_of(was)} to {words_of(given)}"
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
