"""The auditor's list of a day, with the evidence behind every date."""

import io
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from fleet import exports
from fleet.management import arguments
from fleet.reports.due_ask import Ask
from inspections.papers import compliance as paper
from inspections.reports.compliance import COLUMNS, ComplianceList, summary_of

FORMATS = ("csv", "json", "xlsx", "pdf")
IN_A_FILE = ("xlsx", "pdf")


class Command(BaseCommand):
    help = (
        "List what every position owed on a day, in which state and on what evidence. Positions "
        "that owe nothing yet or hold no device are lines too."
    )

    def add_arguments(self, parser):
        parser.add_argument("--as-of", metavar="D", required=True, help="the day it is asked for")
        parser.add_argument(
            "--as-known-on", metavar="K", help="only what was written down by the end of this day"
        )
        parser.add_argument("--format", choices=FORMATS, default="csv")
        parser.add_argument("--out", metavar="FILE", help="write here instead of to the terminal")
        parser.add_argument("--site", metavar="S", help="one site, by name")
        parser.add_argument("--by", metavar="USER", help="only what this person may see")

    def handle(self, *args, **options):
        kind, out = options["format"], options["out"]
        if kind in IN_A_FILE and not out:
            raise CommandError(f"--format {kind}: a file is written, say where with --out FILE")
        known_on = options["as_known_on"]
        listing = ComplianceList(
            arguments.past_day(options["as_of"]),
            arguments.past_day(known_on, "--as-known-on") if known_on else None,
            arguments.user(options["by"]),
            Ask(site=arguments.site(options["site"])),
        )
        if listing.is_known_before:
            self.stderr.write(paper.KNOWN_BEFORE)
        if out:
            _write(listing, kind, out)
            return
        for piece in _pieces(listing, kind):
            self.stdout.write(piece, ending="")


def _write(listing: ComplianceList, kind: str, out: str) -> None:
    """Built whole before the file is opened, so that a failure leaves no half of one."""
    if kind == "pdf":
        content = paper.pdf(listing)
    elif kind == "xlsx":
        book = io.BytesIO()
        exports.write_xlsx(book, COLUMNS, _dicts(listing), title="compliance")
        content = book.getvalue()
    else:
        content = "".join(_pieces(listing, kind)).encode()
    try:
        Path(out).write_bytes(content)
    except OSError as error:
        raise CommandError(f"--out “{out}”: {error.strerror}") from error


def _dicts(listing: ComplianceList):
    return (row.as_dict() for row in listing.every_row())


def _pieces(listing: ComplianceList, kind: str):
    return exports.pieces(kind, COLUMNS, _dicts(listing), summary_of(listing))
