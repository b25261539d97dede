"""Loading a workbook: one transaction, all of it or nothing."""

from collections.abc import Iterable, Sequence
from contextlib import ExitStack
from datetime import datetime
from pathlib import Path

from django.db import IntegrityError, connection, transaction

from fleet import ledger
from fleet.exchange.deferrals import say_idle_deferrals
from fleet.exchange.lookups import Lookups
from fleet.exchange.owed_checks import say_unread_counters
from fleet.exchange.reader import RawSheet, open_source
from fleet.exchange.register import HISTORY, PLACES, Exchanged
from fleet.exchange.run import Options, Progress, Report, Run, silent
from fleet.exchange.sheets import Row, Sheet, read_rows
from fleet.faults import FAULT, NOTE, Fault, Refused
from fleet.models import Site, User
from inspections.exchange import findings, readings, records, setting_points, sheet
from inspections.exchange.proposals import propose_of_run
from inspections.exchange.questions import ask_of_decisions, ask_of_deferrals, ask_of_register

POINTS = Exchanged(setting_points.SHEET, setting_points.load, setting_points.dump)
RECORDS = (sheet.SHEET, readings.SHEET, findings.SHEET)
MANY = 1000  # rows, that change what a database thinks of its tables
IDENTITY = {
    "positions": "tag",
    "devices": "device",
    "inspections": "ref",
    "rules": "id",
    "tolerances": "id",
}


def load(
    source: Path,
    *,
    by: User,
    at: datetime,
    site: str = "",
    only_site: Site | None = None,
    decimal_mark: str | None = None,
    date_order: str | None = None,
    leave_unverified: bool = False,
    dry_run: bool = False,
    progress: Progress = silent,
) -> Report:
    """Load a workbook (.xlsx, .csv, a folder or zip of .csv) and report what it said and did.

    `by` answers for the load, `at` is its recorded moment; its day is "today" for what must not
    lie in the future. With a fault, or for a dry run, nothing at all is written. `site` serves
    rows that name none; `only_site` refuses rows of any other. `progress(doing, done, total)`
    is called as the work goes on and may raise to stop it.
    """
    site = site or (only_site.name if only_site else "")
    options = Options(site, only_site, decimal_mark, date_order, leave_unverified)
    report = Report(is_dry_run=dry_run)
    run = Run(by, at, at.date(), options, report, Lookups(), progress)
    with transaction.atomic():
        try:
            with ExitStack() as stack:
                _load_sheets(run, open_source(source, stack))
        except Refused as refused:
            report.said += [fault for fault in refused.faults if fault not in report.said]
        except IntegrityError as error:
            words = f"somebody else wrote the same just now, so run it again ({error})"
            report.say(Fault("", "", words, code="conflict"))
        if report.faults or dry_run:
            transaction.set_rollback(True)
        elif report.counts.total() >= MANY:
            _count_tables()
    if report.faults:
        report.counts.clear()
    return report


def _count_tables() -> None:
    """Until they are counted PostgreSQL takes its tables for as small as they were, and the first
    lists after a first load take minutes."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


def _load_sheets(run: Run, raw: Sequence[RawSheet]) -> None:
    sheets = {one.name: one for one in raw}
    _say_unknown(run, sheets)
    rows: dict[str, list[Row]] = {}
    known = [one.sheet for one in (*PLACES, POINTS, *HISTORY)] + list(RECORDS)
    for each in known:
        if each.name in sheets:
            run.progress(f"reading {each.name}", 0, 0)
            rows[each.name] = list(_sound(run, each, sheets[each.name]))
    for one in (*PLACES, POINTS, *HISTORY):
        if one.sheet.name in rows:
            run.progress(one.sheet.name, 0, len(rows[one.sheet.name]))
            one.load(run, rows.pop(one.sheet.name))
    wanted = [rows.pop(each.name, []) for each in RECORDS]
    if any(wanted):
        records.load(run, *wanted)
    if not run.report.faults:
        _finish(run)


def _say_unknown(run: Run, sheets: Iterable[str]) -> None:
    known = {one.sheet.name for one in (*PLACES, POINTS, *HISTORY)} | {s.name for s in RECORDS}
    for name in sorted(set(sheets) - known):
        words = "is not a sheet of the workbook and was left out"
        run.say(Fault("", name, words, name, severity=NOTE, code="unknown_sheet"))
    if not set(sheets) & known:
        words = "no sheet of the workbook is here; expected names such as positions or devices"
        run.say(Fault("", ", ".join(sorted(sheets)), words, severity=FAULT, code="no_sheet"))


def _sound(run: Run, declared: Sheet, raw: RawSheet) -> Iterable[Row]:
    """Rows whose cells can all be read; those that cannot are remembered by name."""
    count, identity = 0, IDENTITY.get(declared.name)
    for row in read_rows(declared, raw, run.reading(), run.say):
        count += 1
        if row.is_sound:
            yield row
        elif identity:
            noun = declared.name[:-1]
            run.mark_broken(noun, row[identity])
            if declared.name == "positions":
                run.mark_broken("site", row["site"])
    run.report.sheets[declared.name] = count


def _finish(run: Run) -> None:
    run.progress("checking", 0, 0)
    ask_of_register(run)
    propose_of_run(run)
    places = run.touched | ledger.positions_served(run.moved_devices)
    run.progress("due dates", 0, len(places))
    ledger.replay_positions(places, at=run.at)
    say_idle_deferrals(run)
    say_unread_counters(run)
    ask_of_decisions(run)
    ask_of_deferrals(run)
