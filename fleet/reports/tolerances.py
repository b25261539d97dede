"""The set-pressure tolerances of the library and the site's own, and where they are in use."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from django.db.models import Count, Exists, OuterRef, Q, Value
from django.db.models.functions import Coalesce

from fleet.calc import library
from fleet.calc.library import ON_ABSOLUTE, BandRow, Tolerance
from fleet.calc.units import Quantity
from fleet.drawings.scene import Scene
from fleet.drawings.tolerance_band import tolerance_band
from fleet.drawings.words import true_minus
from fleet.models import PositionDuty, ToleranceBand, User

SYSTEMS = {"": "", "us": "set in US units", "metric": "set in metric units"}
COLUMNS = (
    *("id", "words", "basis", "citation", "edition", "checked", "positions"),
    *("replaces", "replaced_by", "from_on", "note"),
)


@dataclass(frozen=True)
class BandLine:
    """One row of a tolerance in words, and drawn."""

    serves: str
    low: str
    high: str
    floor: str
    is_from_memory: bool
    scene: Scene


@dataclass(frozen=True)
class ToleranceRow:
    """pk: in the register, None while it is in use nowhere. positions: whose duty names it today,
    at the reader's sites."""

    code: str
    tolerance: Tolerance
    citation: str
    edition: str
    is_verified: bool
    note: str
    is_own: bool
    positions: int
    pk: int | None = None
    from_on: date | None = None
    replaces: str = ""
    replaced_by: str = ""
    replaced_on: date | None = None

    @property
    def checked(self) -> tuple[str, str]:
        if self.is_verified:
            return "checked", "checked against a copy"
        return ("from_memory", "not checked" if self.is_own else "from memory")

    @property
    def words(self) -> str:
        """The bands in one sentence."""
        return "; ".join(f"{_serves(row)}{_span(row)}" for row in self.tolerance.bands)

    @property
    def basis_words(self) -> str:
        tolerance = self.tolerance
        if tolerance.basis != ON_ABSOLUTE:
            return "of the gauge pressure"
        return f"of the absolute pressure, with an atmosphere of {tolerance.atmosphere}"

    def lines(self) -> list[BandLine]:
        furthest: dict[str, Fraction] = defaultdict(Fraction)
        for row in self.tolerance.bands:
            for edge in (row.low, row.high):
                furthest[edge.unit] = max(furthest[edge.unit], abs(edge.magnitude))
        return [_line(row, furthest) for row in self.tolerance.bands]

    def as_dict(self) -> dict[str, Any]:
        return {
            "id": self.code,
            "words": self.words,
            "basis": self.tolerance.basis,
            "citation": self.citation,
            "edition": self.edition,
            "checked": self.is_verified,
            "positions": self.positions,
            "replaces": self.replaces,
            "replaced_by": self.replaced_by,
            "from_on": self.from_on,
            "note": self.note,
        }


def _serves(row: BandRow) -> str:
    system = SYSTEMS[row.system]
    upto = f"up to {row.up_to}" if row.up_to else ""
    said = ", ".join(part for part in (system, upto) if part)
    return f"{said}: " if said else ""


def _edge(edge: Quantity) -> str:
    sign = "+" if edge.magnitude > 0 and not edge.text.startswith("+") else ""
    return true_minus(f"{sign}{edge.text}")


def _span(row: BandRow) -> str:
    floor = f", never less than {row.floor}" if row.floor else ""
    return f"{_edge(row.low)} to {_edge(row.high)}{floor}"


def _line(row: BandRow, furthest: dict[str, Fraction]) -> BandLine:
    """furthest: the widest edge said in each unit, which is drawn at the full half width."""
    low, high = _edge(row.low), _edge(row.high)
    left, right = (edge.magnitude / (furthest[edge.unit] or 1) for edge in (row.low, row.high))
    scene = tolerance_band(left, right, low, high)
    serves = _serves(row).rstrip(": ") or "any set pressure"
    return BandLine(serves, low, high, str(row.floor or ""), row.from_memory, scene)


def tolerance_rows(user: User, today: date) -> list[ToleranceRow]:
    """Every tolerance, the site's own first. Two queries."""
    positions = _in_use(user, today)
    register = {band.code: band for band in ToleranceBand.objects.select_related("replaces")}
    replaced = {band.replaces.code: band for band in register.values() if band.replaces}
    known = library.tolerances()
    return [
        _row(code, register.get(code), positions[code], replaced.get(code))
        for code in sorted(register.keys() - known.keys()) + list(known)
    ]


def _in_use(user: User, today: date) -> dict[str, int]:
    """By tolerance: how many positions have it in the duty that holds today."""
    begun = Coalesce("from_on", Value(date.min))
    held = PositionDuty.objects.filter(Q(from_on=None) | Q(from_on__lte=today))
    later = held.filter(position=OuterRef("position"), from_on__gt=OuterRef("begun"))
    mine = held.filter(position__site__in=user.site_ids()).annotate(begun=begun)
    named = mine.filter(~Exists(later)).exclude(tolerance=None)
    counts: dict[str, int] = defaultdict(int)
    counts.update(named.order_by().values_list("tolerance__code").annotate(Count("position")))
    return counts


def _row(
    code: str, band: ToleranceBand | None, positions: int, replaced_by: ToleranceBand | None
) -> ToleranceRow:
    known = library.tolerances().get(code)
    source: Any = known or band
    tolerance = known if band is None else band.tolerance
    assert tolerance is not None
    return ToleranceRow(
        code=code,
        tolerance=tolerance,
        citation=source.citation,
        edition=source.edition,
        is_verified=known.verified if known else bool(band and band.is_verified),
        note=known.note if known else "",
        is_own=known is None,
        positions=positions,
        pk=band.pk if band else None,
        from_on=band.from_on if band else None,
        replaces=band.replaces.code if band and band.replaces else "",
        replaced_by=replaced_by.code if replaced_by else "",
        replaced_on=replaced_by.from_on if replaced_by else None,
    )
