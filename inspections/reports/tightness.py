"""How tight a seat was found and left, against its limit; reckoned anew from what is on record."""

from collections.abc import Sequence
from dataclasses import dataclass

from fleet.calc.units import Quantity
from fleet.models import PositionDuty
from inspections.actions.assess import reference_pressure
from inspections.actions.basis import Basis, tightness_of
from inspections.calc.tightness import leak_words
from inspections.models import Inspection, PopTest

KINDS = {True: "in", False: "off", None: "not_comparable"}


@dataclass(frozen=True)
class SeatLine:
    """is_tight: None where no limit follows. source: the limit's own words and where it stands."""

    is_tight: bool | None
    words: str
    source: str

    @property
    def kind(self) -> str:
        return KINDS[self.is_tight]


def seat_lines(
    inspection: Inspection, duty: PositionDuty | None, pops: Sequence[PopTest]
) -> dict[int, SeatLine]:
    """By pop, those whose leakage was read; of a vent's vacuum side nothing is known here.

    duty: what was asked of it that day. A leak says nothing of whether the work counts.
    """
    leaks = [pop for pop in pops if pop.leak_rate is not None and not pop.is_vacuum]
    if not leaks:
        return {}
    reference = reference_pressure(inspection, duty)
    return {pop.pk: _line(inspection, duty, reference, pop) for pop in leaks}


def _line(
    inspection: Inspection, duty: PositionDuty | None, reference: Quantity | None, pop: PopTest
) -> SeatLine:
    held = tightness_of(inspection, Basis(duty, pop.reference or reference, "", None))
    if held.limit is None or pop.leak_rate is None:
        return SeatLine(None, "not judged", held.limit_words)
    is_tight, words = leak_words(pop.leak_rate, held.limit)
    at = f"; to be tested at {held.test_at}" if held.test_at is not None else ""
    return SeatLine(is_tight, words, f"{held.limit_words}{at}")
