"""What a position saw, in one sentence: "3 devices in 9 years; 1 of 7 first pops out of ..."."""

from collections.abc import Iterator, Sequence
from datetime import date

from inspections.calc.verdicts import HIGH, IN, LOW
from inspections.calc.visits import Overhaul
from inspections.calc.whereabouts import AS_FOUND
from inspections.drawings.panels import Run
from inspections.models import Method


def story_words(
    runs: Sequence[Run], visits: Sequence[Overhaul], as_of: date, *, may_pop: bool
) -> str:
    """Devices since the first fitting on record, and what their first pops here said.

    `visits`: those of set pressure, with nothing but what tells of this position. `may_pop`: some
    of the devices open and close again; of discs and pins alone no pop is missed.
    """
    count = len({run.href for run in runs})
    devices = f"{count} device{'s' if count > 1 else ''} {_time(runs[0].from_on, as_of)}"
    pops = _pops(visits) if visits or may_pop else ()
    return "; ".join([devices, *pops]) + "."


def _time(since: date, as_of: date) -> str:
    years = as_of.year - since.year - ((as_of.month, as_of.day) < (since.month, since.day))
    if years < 1:
        return "in less than a year"
    return f"in {years} year{'s' if years > 1 else ''}"


def _pops(visits: Sequence[Overhaul]) -> Iterator[str]:
    found = [visit for visit in visits if visit.elsewhere != AS_FOUND]
    verdicts = [visit.as_found.verdict for visit in found if visit.as_found]
    judged = [verdict for verdict in verdicts if verdict in (IN, HIGH, LOW)]
    missing = sum(visit.as_found is None and visit.method != Method.MAKER for visit in found)
    yield _out_of(len(judged), judged.count(HIGH), judged.count(LOW))
    if len(verdicts) > len(judged):
        yield f"{_counted(len(verdicts) - len(judged), 'more first pop')} could not be judged"
    if missing:
        yield f"{_counted(missing, 'record')} without a first pop"


def _out_of(judged: int, high: int, low: int) -> str:
    if not judged:
        return "no first pop was judged here"
    whole = f"of {_counted(judged, 'first pop')} out of tolerance"
    if not high + low:
        return f"none {whole}"
    sides = f"{high} high and {low} low" if high and low else "high" if high else "low"
    return f"{high + low} {whole}, {sides}"


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}{'s' if count != 1 else ''}"
