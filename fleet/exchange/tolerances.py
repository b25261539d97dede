"""The tolerances sheet: the owner's own set-pressure tolerances.

One simple band stands in low, high and floor; several stand in `bands`. A tolerance is never
rewritten and never taken away: an edit is a new id, and the changes sheet says which positions
have it from which day on.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from fleet.actions import rules
from fleet.audit import canonical
from fleet.calc import library
from fleet.calc.bands import checked_tolerance, same_tolerance
from fleet.calc.intervals import RuleError
from fleet.calc.library import ON_ABSOLUTE, ON_GAUGE
from fleet.calc.units import ABSOLUTE, GAUGE, PERCENT
from fleet.exchange import cells, sourced
from fleet.exchange.compare import shown
from fleet.exchange.json_cells import json_list
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.faults import NOTE, Fault, Refused
from fleet.models import Site, ToleranceBand

SHEET = Sheet(
    "tolerances",
    ("id",),
    (
        Column("id", cells.telling(60), required=True),
        Column("low", cells.quantity(PERCENT, GAUGE)),
        Column("high", cells.quantity(PERCENT, GAUGE)),
        Column("floor", cells.quantity(GAUGE)),
        Column("basis", cells.word((ON_GAUGE, ON_ABSOLUTE))),
        Column("atmosphere", cells.quantity(ABSOLUTE)),
        Column("bands", json_list()),
        Column("citation", cells.text(200)),
        Column("from_on", cells.day()),
    ),
)
NOUN = "tolerance"
ONE_BAND = ("low", "high", "floor")
SHAPE = (*ONE_BAND, "basis", "atmosphere", "bands")
PLAIN = ("citation", "from_on")


def load(run: Run, rows: Sequence[Row]) -> None:
    known = {band.code: band for band in ToleranceBand.objects.all()}
    fresh = []
    for row in sourced.once(run, rows):
        stored = known.get(row["id"]) or _of_library(row["id"])
        if stored is not None:
            sourced.refuse(run, NOUN, row, _says_otherwise(row, stored))
            continue
        band = _built(run, row)
        if band is not None:
            fresh.append(band)
            sourced.say_unsourced(run, row)
    if not any(run.is_broken(NOUN, row["id"]) for row in rows):
        rules.add_tolerances(fresh, by=run.by, at=run.at)
    run.count("tolerances added", len(fresh))


def _of_library(code: str) -> ToleranceBand | None:
    row = library.tolerances().get(code)
    if row is None:
        return None
    return ToleranceBand(code=code, definition=dict(row.definition), citation=row.citation)


def _built(run: Run, row: Row) -> ToleranceBand | None:
    """The tolerance of a row, unsaved; None where it cannot be, which was said."""
    try:
        definition = _definition(row)
        band = ToleranceBand(code=row["id"], definition=definition, citation=row["citation"] or "")
        band.from_on = row.on("from_on")
        faults = rules.problems_of_tolerance(band)
        if faults:
            raise Refused([_at_column(fault, row) for fault in faults])
    except Refused as refused:
        sourced.refuse(run, NOUN, row, refused.faults)
        return None
    if row["basis"] is None:
        words = "gauge or absolute; nothing is said, and gauge is taken"
        run.say(row.fault("basis", words, severity=NOTE, code="assumed_gauge"))
    return band


def _definition(row: Row, stored: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """As it is stored; what the row leaves out is as it was. Raises Refused."""
    held = stored or {}
    basis = row["basis"] or held.get("basis", ON_GAUGE)
    atmosphere = row["atmosphere"].text if row["atmosphere"] else held.get("atmosphere")
    if (basis == ON_ABSOLUTE) != (atmosphere is not None):
        words = "the atmospheric pressure where the basis is absolute, and only there"
        raise Refused([row.fault("atmosphere", words, code="contradiction")])
    told = {} if atmosphere is None else {"atmosphere": atmosphere}
    bands = _bands(row)
    if bands is None:
        bands = held.get("bands") or _no_bands(row)
    return {"basis": basis, "bands": bands} | told


def _bands(row: Row) -> list[dict[str, Any]] | None:
    """The bands of a row, None where it says nothing of them. Raises Refused."""
    alone = [name for name in ONE_BAND if row[name] is not None]
    if row["bands"] is not None:
        if alone:
            words = "nothing beside `bands`: one band in low, high and floor, or all of them there"
            raise Refused([row.fault(alone[0], words, code="contradiction")])
        return row["bands"]
    if alone and not {"low", "high"} <= set(alone):
        _no_bands(row)
    return [{name: row[name].text for name in alone}] if alone else None


def _no_bands(row: Row) -> list[dict[str, Any]]:
    missing = [name for name in ("low", "high") if row[name] is None]
    words = "how far from set it may open, such as -3 % and 3 %; or `bands`"
    raise Refused([row.fault(name, words) for name in missing])


def _at_column(fault: Fault, row: Row) -> Fault:
    """The fault at the column where its part was typed."""
    if fault.field in (*ONE_BAND, "atmosphere", "basis") and row["bands"] is None:
        return fault
    if fault.field == "id":
        return fault
    where = "" if fault.field == "bands" else f", in {fault.field}"
    return Fault("bands", fault.typed, fault.expected + where, code=fault.code)


def _says_otherwise(row: Row, stored: ToleranceBand) -> Iterator[Fault]:
    yield from sourced.cleared(row, SHAPE)
    if any(row[name] is not None for name in SHAPE):
        try:
            given = checked_tolerance(row["id"], _definition(row, stored.definition))
        except Refused as refused:
            yield from refused.faults
            return
        except RuleError as error:
            yield row.fault("bands", f"expected {error.expected}", typed=error.typed, code="band")
            return
        if not same_tolerance(given, stored.tolerance):
            words = sourced.never_rewritten(canonical(stored.definition))
            column = "low" if row["bands"] is None else "bands"
            yield row.fault(column, words, code="dated_fact")
    yield from sourced.differences(row, stored, PLAIN)


def dump(site: Site | None) -> Iterator[dict[str, str]]:
    """The owner's own tolerances, whatever the site: they belong to no one site."""
    for band in ToleranceBand.objects.exclude(code__in=library.tolerances()):
        definition = band.definition
        yield _band_cells(definition["bands"]) | {
            "id": band.code,
            "basis": definition["basis"],
            "atmosphere": definition.get("atmosphere", ""),
            "citation": band.citation,
            "from_on": shown(band.from_on),
        }


def _band_cells(bands: list[dict[str, Any]]) -> dict[str, str]:
    if len(bands) == 1 and set(bands[0]) <= set(ONE_BAND):
        return dict(bands[0])
    return {"bands": canonical(bands)}
