"""The library of interval rules and set-pressure tolerances: data in `fixtures/`, with sources.

Every row carries citation and edition; `verified` says whether the figures were read in a copy of
the text or in a print of it, as against known from memory. Nothing here is ever a default: a
position has the rule and the tolerance that somebody gave it.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from fleet.calc.examples import Example, example_from
from fleet.calc.intervals import Shape, shape_from
from fleet.calc.units import ABSOLUTE, GAUGE, PERCENT, Quantity, parse_quantity

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
ON_GAUGE, ON_ABSOLUTE = "gauge", "absolute"
US, METRIC = "us", "metric"
US_UNITS = {"psig", "oz/in2g", "inH2Og"}


class NoBand(LookupError):
    """The tolerance says nothing about this set pressure; str() is why. Never guess one."""


@dataclass(frozen=True)
class LibraryRule:
    """An interval rule as law, code or practice gives it.

    `activities` hints at what it is about; it binds nobody. `example` is worked out beforehand:
    from a date that the source gives or its words force, never from this code.
    """

    id: str
    kind: str
    parameters: Mapping[str, Any] = field(hash=False)
    citation: str
    edition: str
    verified: bool
    note: str
    activities: tuple[str, ...]
    example: Example

    @property
    def shape(self) -> Shape:
        return shape_from(self.kind, self.parameters)


@dataclass(frozen=True)
class BandRow:
    """One row of a tolerance: how far from set a device may open, for set pressures `up_to`.

    low, high: signed, each a percentage of set or a pressure difference (a gauge Quantity).
    floor: the row's low and high are never closer to set than this, where the code says "the
    greater of". system: the units in which the set must be typed for the row to serve ("" = any).
    up_to: inclusive, of a vacuum by its magnitude; None = without end. from_memory: this row,
    unlike its tolerance, was not read in a text.
    """

    low: Quantity
    high: Quantity
    floor: Quantity | None = None
    up_to: Quantity | None = None
    system: str = ""
    from_memory: bool = False

    def serves(self, set_pressure: Quantity) -> bool:
        own = US if set_pressure.unit in US_UNITS else METRIC
        size = Quantity.of(abs(set_pressure.magnitude), set_pressure.unit)
        within = self.up_to is None or size <= self.up_to
        return within and self.system in ("", own)


@dataclass(frozen=True)
class Tolerance:
    """Set-pressure tolerance of a construction code, or a site's own.

    basis "absolute" applies the percentages to the absolute pressure, with `atmosphere`.
    covers_from: the least set pressure the code speaks for (inclusive).
    reseats_from: least reseat pressure as a percentage of the opening pressure, where one is set.
    definition: the same as JSON, as it is stored.
    """

    id: str
    basis: str
    bands: tuple[BandRow, ...]
    atmosphere: Quantity | None = None
    covers_from: Quantity | None = None
    reseats_from: Quantity | None = None
    citation: str = ""
    edition: str = ""
    verified: bool = False
    note: str = ""
    definition: Mapping[str, Any] = field(default_factory=dict, compare=False, repr=False)

    def row_for(self, set_pressure: Quantity) -> BandRow:
        """The row for a set pressure, chosen in the unit it was typed in. Raises NoBand."""
        if self.covers_from is not None and set_pressure < self.covers_from:
            raise NoBand(
                f"{self.id} gives no band below {self.covers_from}: for {set_pressure}"
                " the owner specifies one"
            )
        for row in self.bands:
            if row.serves(set_pressure):
                return row
        raise NoBand(f"{self.id} has no band for {set_pressure}")


@cache
def rules() -> dict[str, LibraryRule]:
    """Every rule of the library by id."""
    found = {}
    for row in _read("rules.json"):
        activities, example = tuple(row.pop("activities")), example_from(**row.pop("example"))
        found[row["id"]] = LibraryRule(**row, activities=activities, example=example)
    return found


@cache
def tolerances() -> dict[str, Tolerance]:
    """Every tolerance of the library by id."""
    return {row["id"]: _library_tolerance(**row) for row in _read("tolerances.json")}


def _library_tolerance(
    id: str, citation: str, edition: str, verified: bool, note: str, definition: dict[str, Any]
) -> Tolerance:
    return tolerance_from(
        id, definition, citation=citation, edition=edition, verified=verified, note=note
    )


def tolerance_from(
    code: str,
    definition: Mapping[str, Any],
    *,
    citation: str = "",
    edition: str = "",
    verified: bool = False,
    note: str = "",
) -> Tolerance:
    """A tolerance from its stored JSON: {basis, bands: [{low, high, ...}], atmosphere, ...}.

    Pressures and percentages are text. Raises ValueError (UnitsError for a quantity).
    """
    basis, atmosphere = definition["basis"], definition.get("atmosphere")
    if basis not in (ON_GAUGE, ON_ABSOLUTE):
        raise ValueError(f"basis {basis!r}: expected gauge or absolute")
    if (basis == ON_ABSOLUTE) != (atmosphere is not None):
        raise ValueError("an atmosphere goes with the absolute basis, and only with it")
    return Tolerance(
        code,
        basis,
        tuple(_row(**row) for row in definition["bands"]),
        atmosphere=_absolute(atmosphere),
        covers_from=_gauge(definition.get("covers_from")),
        reseats_from=_percent(definition.get("reseats_from")),
        citation=citation,
        edition=edition,
        verified=verified,
        note=note,
        definition=definition,
    )


def _row(
    low: str,
    high: str,
    floor: str | None = None,
    up_to: str | None = None,
    system: str = "",
    from_memory: bool = False,
) -> BandRow:
    dimensions = (GAUGE, PERCENT)
    lowest, highest = parse_quantity(low, dimensions), parse_quantity(high, dimensions)
    return BandRow(lowest, highest, _gauge(floor), _gauge(up_to), system, from_memory)


def _gauge(text: str | None) -> Quantity | None:
    return None if text is None else parse_quantity(text, (GAUGE,))


def _absolute(text: str | None) -> Quantity | None:
    return None if text is None else parse_quantity(text, (ABSOLUTE,))


def _percent(text: str | None) -> Quantity | None:
    return None if text is None else parse_quantity(text, (PERCENT,))


def _read(name: str) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = json.loads((FIXTURES / name).read_text(encoding="utf-8"))
    return rows
