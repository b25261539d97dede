"""Load a workbook: register, history, settings. All of it or nothing."""

import csv
from contextlib import ExitStack
from pathlib import Path
from typing import TextIO

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from fleet import clock
from fleet.actions.people import command_line_user
from fleet.models import User
from inspections.exchange import Report, load
from inspections.kept.catching_up import catch_up
from inspections.management.progress import progress_to

COLUMNS = ("severity", "sheet", "row", "column", "typed", "expected", "code")


class Command(BaseCommand):
    help = (
        "Load a workbook (.xlsx, a folder or .zip of .csv files, or one .csv) in one transaction."
        " With a fault nothing is written and the exit status is 1."
    )

    def add_arguments(self, parser):
        parser.add_argument("path", type=Path)
        parser.add_argument("--dry-run", action="store_true", help="say what would happen")
        parser.add_argument("--faults", type=Path, metavar="FILE.csv",
                            help="write faults, findings and notes there")  # fmt: skip
        parser.add_argument("--site", default="", help="the site of rows that name none")
        parser.add_argument("--decimal-mark", choices=[".", ","], help="what a comma means")
        parser.add_argument("--date-order", choices=["DMY", "MDY"], help="what 03/04/2025 means")
        parser.add_argument("--by", default="", metavar="USER", help="who answers for the load")
        parser.add_argument("--leave-unverified", action="store_true",
                            help="rows without a verifier stay open")  # fmt: skip

    def handle(self, *args, **options):
        with ExitStack() as stack:
            faults = _opened(options["faults"], stack)  # before anything is written
            report = self._load(options)
            if faults:
                _write_said(faults, report)
        self._say(report)
        if report.is_changed and not report.is_dry_run and not report.faults:
            catch_up(at=clock.now(), progress=progress_to(self.stderr))
        if report.faults:
            count = len(report.faults)
            raise CommandError(
                f"{count} {'fault' if count == 1 else 'faults'}: nothing was written"
            )

    def _load(self, options) -> Report:
        """Load; where nothing is to be written, the account that answers for it is not either."""
        at = clock.now()
        with transaction.atomic():
            report = load(
                options["path"],
                by=_actor(options["by"], at),
                at=at,
                site=options["site"],
                decimal_mark=options["decimal_mark"],
                date_order=options["date_order"],
                leave_unverified=options["leave_unverified"],
                dry_run=options["dry_run"],
                progress=progress_to(self.stderr),
            )
            transaction.set_rollback(bool(report.faults) or report.is_dry_run)
        return report

    def _say(self, report: Report):
        for fault in report.said:
            line = f"{fault.severity}: {fault}"
            (self.stderr if fault in report.faults else self.stdout).write(line)
        for name, count in report.sheets.items():
            self.stdout.write(f"read {name}: {count} rows")
        if report.faults:
            return
        verb = "would write" if report.is_dry_run else "wrote"
        for what, count in report.counts.items():
            self.stdout.write(f"{verb} {what}: {count}")
        if not report.is_changed:
            self.stdout.write("nothing to change: the register says the same already")


def _actor(name: str, at) -> User:
    if not name:
        return command_line_user(at=at)
    found = User.objects.filter(username=name).first() or User.objects.filter(name=name).first()
    if found is None:
        raise CommandError(f"--by {name}: no account has this user name")
    return found


def _opened(path: Path | None, stack: ExitStack) -> TextIO | None:
    if path is None:
        return None
    try:
        return stack.enter_context(path.open("w", encoding="utf-8", newline=""))
    except OSError as error:
        raise CommandError(f"--faults {path}: {error.strerror}") from error


def _write_said(file: TextIO, report: Report) -> None:
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(COLUMNS)
    for fault in report.said:
        writer.writerow([fault.severity, fault.sheet, fault.row or "", fault.field,
                         fault.typed, fault.expected, fault.code])  # fmt: skip
