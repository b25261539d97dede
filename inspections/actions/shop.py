"""The tolerance that a site leaves its valves within, apart from the limit in force.

It decides nothing but that a reason is asked: whether an event counts is the limit's to say.
"""

from fleet.calc.units import Quantity
from inspections.actions.basis import Basis, basis_of
from inspections.actions.records import Record
from inspections.calc import verdicts


def asks_why(basis: Basis, pressure: Quantity) -> bool:
    """Is a pop as left inside the limit in force, or without any, and outside the site's own?"""
    if basis.own_band is None:
        return False
    pop = verdicts.Pop(pressure)
    within = basis.band is None or verdicts.verdict(pop, basis.band) == verdicts.IN
    return within and verdicts.verdict(pop, basis.own_band) != verdicts.IN


def left_outside(record: Record) -> str:
    """Why this record is asked for a reason, in words; "" where it is not."""
    left = record.as_left_pop()
    if left is None or left.pressure is None or left.bound:
        return ""
    basis = basis_of(record.inspection)
    return own_words(basis) if asks_why(basis, left.pressure) else ""


def own_words(basis: Basis) -> str:
    """The site's own band and the name of its tolerance."""
    band = basis.own_band
    return f"{band.low} to {band.high} ({basis.own})" if band else ""
