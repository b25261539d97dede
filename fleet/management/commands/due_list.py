"""What is owed, by when, and in which outage it goes."""

from datetime import date

from django.core.management.base import BaseCommand, CommandError

from fleet import exports
from fleet.calc.units import UnitsError, parse_duration
from fleet.management import arguments
from fleet.models import Unit
from fleet.reports.due import COLUMNS, Ask, DueList

SHORT = (
    *("tag", "unit", "device", "activity", "due_on", "status", "days_left", "deferred_until"),
    *("last_outage_before_due", "next_outage", "reason"),
)


class Command(BaseCommand):
    help = (
        "List what each position owes: one row per obligation, and one for every position "
        "with none. The table shows the columns a screen has room for; csv and json have all."
    )

    def add_arguments(self, parser):
        parser.add_argument("--as-of", metavar="D", help="seen from this day (default: today)")
        parser.add_argument(
            "--within",
            metavar="P180D",
            help="only what is due within this time; never hides what is overdue or has no date",
        )
        parser.add_argument("--site", metavar="S", help="one site, by name")
        parser.add_argument("--unit", metavar="U", help="one unit, by name")
        parser.add_argument("--format", choices=["table", "csv", "json"], default="table")
        parser.add_argument("--by", metavar="USER", help="only what this person may see")

    def handle(self, *args, **options):
        as_of = arguments.day(options["as_of"])
        user = arguments.user(options["by"])
        ask = Ask(
            site=arguments.site(options["site"]),
            unit=_unit(options["unit"], options["site"]),
            until=_until(options["within"], as_of),
        )
        listing = DueList(as_of, user, ask)
        columns = SHORT if options["format"] == "table" else COLUMNS
        rows = (row.as_dict() for row in listing.every_row())
        summary = {"as_of": as_of, **listing.counts()} if options["format"] == "json" else {}
        for piece in exports.pieces(options["format"], columns, rows, summary):
            self.stdout.write(piece, ending="")


def _until(typed: str | None, as_of: date) -> date | None:
    if not typed:
        return None
    try:
        return parse_duration(typed).after(as_of)
    except UnitsError as error:
        raise CommandError(f"--within “{typed}”: expected {error.expected}") from error


def _unit(typed: str | None, site: str | None) -> int | None:
    if not typed:
        return None
    units = Unit.objects.filter(name=typed, **({"site__name": site} if site else {}))
    if not units:
        raise CommandError(f"--unit “{typed}”: no such unit")
    if len(units) > 1:
        raise CommandError(f"--unit “{typed}”: several sites have one; say which with --site")
    return units[0].pk
