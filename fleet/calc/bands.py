"""A tolerance that somebody writes down: checked before any verdict rests on it."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from fleet.calc.library import METRIC, ON_GAUGE, US, BandRow, Tolerance, tolerance_from
from fleet.calc.parameters import RuleError
from fleet.calc.quantities import UnitsError

TEXTS = ("low", "high", "floor", "up_to", "system")
PARTS = {*TEXTS, "from_memory"}


def checked_tolerance(code: str, definition: Mapping[str, Any]) -> Tolerance:
    """The tolerance of a definition {basis, bands, atmosphere}. Raises RuleError naming the part.

    Stricter than reading one back: nothing unknown, each band from zero or below to zero or
    above, and no row after one that already serves every pressure.
    """
    rows = definition.get("bands")
    if not isinstance(rows, list) or not rows:
        raise RuleError("bands", rows or "", 'a list such as [{"low": "-3 %", "high": "3 %"}]')
    for number, row in enumerate(rows, 1):
        _check_parts(row, number)
    if definition.get("basis", ON_GAUGE) not in ("gauge", "absolute"):
        raise RuleError("basis", definition["basis"], "gauge or absolute")
    try:
        tolerance = tolerance_from(code, {"basis": ON_GAUGE, **definition})
    except UnitsError as error:
        raise RuleError("bands", error.typed, error.expected) from error
    except ValueError as error:
        raise RuleError("atmosphere", definition.get("atmosphere", ""), str(error)) from error
    for number, band in enumerate(tolerance.bands, 1):
        _check_signs(band, number)
    _check_order(tolerance.bands)
    return tolerance


def same_tolerance(one: Tolerance, other: Tolerance) -> bool:
    """The same bands on the same basis, however they are written."""
    try:
        return (one.basis, one.atmosphere, one.bands) == (
            other.basis,
            other.atmosphere,
            other.bands,
        )
    except UnitsError:  # a percentage is no pressure
        return False


def _check_parts(row: Any, number: int) -> None:
    place = f"band {number}"
    if not isinstance(row, dict):
        raise RuleError(place, row, 'an object such as {"low": "-3 %", "high": "3 %"}')
    for name, value in row.items():
        if name not in PARTS:
            raise RuleError(place, name, f"only {', '.join(sorted(PARTS))}")
        is_right = isinstance(value, str) if name in TEXTS else isinstance(value, bool)
        if not is_right:
            raise RuleError(place, value, f'text for {name}, such as "-3 %" or "2 psig"')
    for name in ("low", "high"):
        if name not in row:
            raise RuleError(place, "", f"how far {name} it may open, such as 3 % or 2 psig")
    if row.get("system", "") not in ("", US, METRIC):
        raise RuleError(place, row["system"], f"{US} or {METRIC}")


def _check_signs(band: BandRow, number: int) -> None:
    if band.low.magnitude > 0:
        words = "how far below set it may open: zero, or with a minus sign"
        raise RuleError("low" if number == 1 else f"band {number}", band.low.text, words)
    if band.high.magnitude < 0:
        words = "how far above set it may open: zero or more"
        raise RuleError("high" if number == 1 else f"band {number}", band.high.text, words)
    if band.floor is not None and band.floor.magnitude <= 0:
        raise RuleError("floor", band.floor.text, "a pressure above zero")


def _check_order(bands: Sequence[BandRow]) -> None:
    """The first row that serves is taken, so that one behind a wider one is never reached."""
    for system in {band.system for band in bands}:
        rows = [band for band in bands if band.system in ("", system)]
        for soon, late in pairwise(rows):
            if soon.up_to is None or (late.up_to is not None and late.up_to <= soon.up_to):
                limit = soon.up_to or "any pressure"
                words = f"rows that rise: the row before it serves up to {limit} already"
                raise RuleError("bands", str(late.up_to or f"{late.low} {late.high}"), words)
