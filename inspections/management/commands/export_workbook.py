"""Write the workbook out: the same format that import_workbook reads."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from fleet.faults import Refused
from fleet.management import arguments
from fleet.models import Site, User
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
        parser.add_argument("--by", metavar="USER", help="only what this person may see")

    def handle(self, *args, **options):
        site = _site(options["site"], arguments.user(options["by"]))
        try:
            counts = dump(options["path"], site=site, progress=progress_to(self.stderr))
        except (Refused, OSError) as error:
            raise CommandError(str(error)) from error
        for name, count in counts.items():
            self.stdout.write(f"wrote {name}: {count} rows")
        if left_out := drafts(site):
            self.stderr.write(f"{left_out} jobs still being written were left out")


def _site(name: str, user: User | None) -> Site | None:
    """The site to write, None for all; of somebody who sees some only, the one that is named."""
    sites = Site.objects.all() if user is None else Site.objects.filter(pk__in=user.site_ids())
    if name:
        site = sites.filter(name=name).first()
        if site is None:
            raise CommandError(f"--site {name}: there is no such site")
        return site
    if user is None or sites.count() == Site.objects.count():
        return None
    raise CommandError(f"--by {user.username}: say with --site which of their sites to write")
