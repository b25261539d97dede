"""What does not stay where it is put: every setting of every device, flagged ones first."""

from django.core.management.base import BaseCommand

from fleet import clock, exports
from fleet.management import arguments
from inspections.kept.catching_up import catch_up, restate
from inspections.management.progress import progress_to
from inspections.reports.settings import COLUMNS
from inspections.reports.settings_ask import Listing, SettingsAsk
from inspections.reports.settings_kept import KeptReview

SHORT = (
    *("tag", "device", "setting", "n", "last_as_found", "last_as_left", "last_service_movement"),
    *("last_shop_reset", "drift_per_year", "flags", "reason"),
)


class Command(BaseCommand):
    help = (
        "Review the settings of every device: one row per device and setting, set pressure "
        "included. Flags are facts, and what a screening of the whole fleet finds beyond chance. "
        "The table shows the columns a screen has room for; csv and json have all."
    )

    def add_arguments(self, parser):
        parser.add_argument("--as-of", metavar="D", help="only facts dated by this day")
        parser.add_argument("--site", metavar="S", help="one site, by name")
        parser.add_argument("--format", choices=["table", "csv", "json"], default="table")
        parser.add_argument("--by", metavar="USER", help="only what this person may see")
        parser.add_argument("--restate", action="store_true",
                            help="make the kept review again, and list nothing")  # fmt: skip

    def handle(self, *args, **options):
        progress = progress_to(self.stderr)
        if options["restate"]:
            kept = restate(at=clock.now(), progress=progress).screening
            self.stdout.write(f"reviewed as of entry {kept.entry}: {kept.judged} settings judged")
            return
        listing = self._listing(options, progress)
        columns = SHORT if options["format"] == "table" else COLUMNS
        rows = (row.as_dict() for row in listing.every_row())
        for piece in exports.pieces(options["format"], columns, rows, listing.summary()):
            self.stdout.write(piece, ending="")

    def _listing(self, options, progress) -> Listing:
        as_of, user = arguments.past_day(options["as_of"]), arguments.user(options["by"])
        ask = SettingsAsk(site=arguments.site(options["site"]))
        day = None if as_of == clock.today() else as_of
        kept = catch_up(at=clock.now(), progress=progress, day=day).screening
        return KeptReview(as_of, kept, user, ask)
