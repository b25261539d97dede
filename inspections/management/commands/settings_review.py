"""What does not stay where it is put: every setting of every device, flagged ones first."""

from django.core.management.base import BaseCommand

from fleet import exports
from fleet.management import arguments
from inspections.reports.settings import (
    COLUMNS,
    devices_for,
    review,
    summary_of,
    undated_count,
)
from inspections.reports.settings_ask import Review, SettingsAsk

SHORT = (
    *("tag", "device", "setting", "n", "last_as_found", "last_as_left", "last_service_movement"),
    *("last_shop_reset", "drift_per_year", "flags", "reason"),
)


class Command(BaseCommand):
    help = (
        "Review the settings of every device: one row per device and setting, set pressure "
        "included. Flags are facts, not statistics. The table shows the columns a screen has "
        "room for; csv and json have all."
    )

    def add_arguments(self, parser):
        parser.add_argument("--as-of", metavar="D", help="only facts dated by this day")
        parser.add_argument("--site", metavar="S", help="one site, by name")
        parser.add_argument("--format", choices=["table", "csv", "json"], default="table")
        parser.add_argument("--by", metavar="USER", help="only what this person may see")

    def handle(self, *args, **options):
        as_of = arguments.past_day(options["as_of"])
        devices = devices_for(arguments.user(options["by"]))
        ask = SettingsAsk(site=arguments.site(options["site"]))
        rows = Review(as_of, review(as_of, devices), ask).found
        columns = SHORT if options["format"] == "table" else COLUMNS
        summary = summary_of(rows, as_of, undated_count(devices))
        for piece in exports.pieces(
            options["format"], columns, (row.as_dict() for row in rows), summary
        ):
            self.stdout.write(piece, ending="")
