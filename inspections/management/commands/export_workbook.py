"""Write the workbook out: the same format that import_workbook reads."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from fleet.faults import Refused
from fleet.models import Site
from inspections.exchange import drafts, dump
from inspections.management.progress import progress_to


class Command(BaseCommand):
    help = (
        "Write everything, or one site, to PATH: a folder, or a file ending in .zip or .xlsx."
        " Loaded into an empty site it gives the same workbook again."
    )

    def add_arguments(self, parser):
        parser.add_argument("path", type=Path)
        parser.add_argument("--site", default="", help="only this site")

    def handle(self, *args, **options):
        site = None
        if options["site"]:
            site = Site.objects.filter(name=options["site"]).first()
            if site is None:
                raise CommandError(f"--site {options['site']}: there is no such site")
        try:
            counts = dump(options["path"], site=site, progress=progress_to(self.stderr))
        except (Refused, OSError) as error:
            raise CommandError(str(error)) from error
        for name, count in counts.items():
            self.stdout.write(f"wrote {name}: {count} rows")
        if left_out := drafts(site):
            self.stderr.write(f"{left_out} jobs still being written were left out")
