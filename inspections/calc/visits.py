"""One visit to a device as one setting saw it: what was found, what was left, under what terms."""

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import cached_property

from fleet.calc.units import Quantity
from inspections.calc.verdicts import Band, Pop, deviation_percent, verdict

SET_PRESSURE = "set_pressure"

# A maker's certificate is a bench test; every other method is pooled only with itself
# (a lift-assisted test is another measurement: NRC IN 94-56).
SAME_METHOD = {"maker": "bench"}


@dataclass(frozen=True)
class Reading:
    """One setting as read once. The last three are a pop's: what was in force that day."""

    quantity: Quantity
    datum: str = ""
    no_lift: bool = False
    cdtp: Quantity | None = None
    band: Band | None = None

    @property
    def pop(self) -> Pop:
        return Pop(self.quantity, self.no_lift)

    @cached_property
    def verdict(self) -> str:
        """in, high, low or undecided against the band of the day; "" when there was none."""
        return verdict(self.pop, self.band) if self.band else ""

    @cached_property
    def deviation(self) -> Fraction | None:
        """Percent of the day's CDTP, of the pressure reached when there was no lift."""
        return deviation_percent(self.quantity, self.cdtp) if self.cdtp else None

    def __str__(self) -> str:
        return str(self.pop)


@dataclass(frozen=True)
class Overhaul:
    """One visit at which the setting was read or should have been; None is not recorded.

    `later_pops` are the unadjusted pops after the first one. `renewed` names what was replaced
    between as-found and as-left ("new spring"): the two then do not compare. `missing_reason`
    is what the record says about a reading that is not there. `goes_back` is False for a device
    that was scrapped, replaced or sent back untested: it has no as-left to miss. `elsewhere` is the
    stage, as_found or as_left, that tells of another position: it is not missing here.
    """

    ref: str
    on: date
    as_found: Reading | None
    as_left: Reading | None
    method: str = ""
    later_pops: tuple[Quantity, ...] = ()
    renewed: str = ""
    missing_reason: str = ""
    goes_back: bool = True
    elsewhere: str = ""


def method_of(visit: Overhaul) -> str:
    """The method a pop is pooled under."""
    return SAME_METHOD.get(visit.method, visit.method)
