"""Short ways to write a device's history in a test."""

from datetime import date

from fleet.calc.library import tolerances
from fleet.calc.units import GAUGE, LENGTH, NOTCHES, TURNS, Quantity, parse_quantity
from inspections.calc.verdicts import band
from inspections.calc.visits import Overhaul, Reading

STOP = "from ring touching the disc holder"
FLAT = "from the flat on the seat"


def psig(number):
    return parse_quantity(f"{number} psig", (GAUGE,))


def setting(text, datum=STOP):
    return text and Reading(parse_quantity(text, (NOTCHES, TURNS, LENGTH)), datum)


def pop(number, cdtp=100, *, no_lift=False):
    """A pop in psig, judged by the +/- 3 % of ASME VIII about its cold test pressure."""
    own = band(tolerances()["asme8"], psig(cdtp), psig(cdtp))
    return number and Reading(psig(number), no_lift=no_lift, cdtp=psig(cdtp), band=own)


def visit(year, as_found, as_left, **more):
    return Overhaul(f"R-{year}", date(year, 3, 1), as_found, as_left, **more)


def rings(*pairs, datum=STOP):
    """Visits of one ring, a year apart from 2015: (as found, as left) as typed, None = missing."""
    return [
        visit(2015 + i, setting(found, datum), setting(left, datum))
        for i, (found, left) in enumerate(pairs)
    ]


def pops(*pairs, cdtp=100, **more):
    """The same for set pressure, in psig, on the bench."""
    more = {"method": "bench", **more}
    return [
        visit(2015 + i, pop(found, cdtp), pop(left, cdtp), **more)
        for i, (found, left) in enumerate(pairs)
    ]


def percent(number):
    return Quantity.of(number, "%")
