"""Fleet's sheets: in what order they are loaded, and how each is written out again."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from fleet.exchange import (
    arrangements,
    decisions,
    deferrals,
    devices,
    duties,
    happenings,
    installations,
    obligations,
    outages,
    positions,
    rules,
    tolerances,
)
from fleet.exchange.run import Run
from fleet.exchange.sheets import Row, Sheet
from fleet.models import Site

Load = Callable[[Run, Sequence[Row]], None]
Dump = Callable[[Site | None], Iterator[dict[str, str]]]


@dataclass(frozen=True)
class Exchanged:
    """A sheet with its way in and its way out. noun: what a faulty row of it leaves unknown."""

    sheet: Sheet
    load: Load
    dump: Dump
    noun: str = ""


PLACES = (  # rules and tolerances first: positions and what is owed name them
    Exchanged(rules.SHEET, rules.load, rules.dump, rules.NOUN),
    Exchanged(tolerances.SHEET, tolerances.load, tolerances.dump, tolerances.NOUN),
    Exchanged(positions.SHEET, positions.load, positions.dump, "position"),
    Exchanged(devices.SHEET, devices.load, devices.dump, "device"),
)
HISTORY = (
    Exchanged(duties.SHEET, duties.load, duties.dump),
    Exchanged(installations.SHEET, installations.load, installations.dump),
    Exchanged(arrangements.SHEET, arrangements.load, arrangements.dump),
    Exchanged(happenings.TRIGGERS, happenings.load_triggers, happenings.dump_triggers),
    Exchanged(happenings.COUNTERS, happenings.load_counters, happenings.dump_counters),
    Exchanged(
        happenings.OUT_OF_SERVICE,
        happenings.load_out_of_service,
        happenings.dump_out_of_service,
    ),
    Exchanged(obligations.SHEET, obligations.load, obligations.dump),
    Exchanged(decisions.DECISIONS, decisions.load_decisions, decisions.dump_decisions),
    Exchanged(deferrals.DEFERRALS, deferrals.load_deferrals, deferrals.dump_deferrals),
    Exchanged(outages.OUTAGES, outages.load_outages, outages.dump_outages),
    Exchanged(outages.JOB_HOURS, outages.load_job_hours, outages.dump_job_hours),
)
