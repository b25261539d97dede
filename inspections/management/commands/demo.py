"""The demo plant: set up, loaded through the real import, served on this machine alone."""

import os
from itertools import product

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from fleet import clock
from fleet.actions.people import command_line_user, give_role, set_password
from fleet.models import Site
from inspections.demo.answers import answer_proposals
from inspections.demo.instructed import say_settings
from inspections.demo.planned import plan_the_outages
from inspections.demo.plant import AS_OF
from inspections.demo.sheets import SITE, SITES
from inspections.demo.sign_ins import SIGN_INS
from inspections.exchange import load
from inspections.kept.catching_up import catch_up
from inspections.management.progress import progress_to

PASSWORD = "lift-at-set"


class Command(BaseCommand):
    help = "Set up the demo plant, print its address and sign-ins, and serve it."

    def add_arguments(self, parser):
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--no-serve", action="store_true", help="set up and stop")

    def handle(self, *args, **options):
        self._stop_the_clock()
        call_command("migrate", verbosity=0)
        self._refuse_other_plants()
        if not Site.objects.filter(name=SITE).exists():
            self._load()
        self._say(options["port"])
        if not options["no_serve"]:
            call_command("runserver", f"127.0.0.1:{options['port']}", use_reloader=False)

    def _stop_the_clock(self):
        """The demo's dates mean the same thing next year; child processes see it too."""
        settings.FIXED_TODAY = AS_OF
        os.environ["FIXED_TODAY"] = AS_OF.isoformat()
        os.environ.setdefault("DEBUG", "1")
        os.environ.setdefault("DATABASE_URL", self._database_url())

    def _database_url(self):
        return os.environ.get("DATABASE_URL", f"sqlite:///{settings.DATABASES['default']['NAME']}")

    def _refuse_other_plants(self):
        others = Site.objects.exclude(name__in=SITES)
        if others.exists():
            raise CommandError(
                f"This database holds {others.first()}; the demo goes into an empty one only."
            )

    def _load(self):
        self.stdout.write(f"Loading {SITE} through the import ...")
        by = command_line_user(at=clock.now())
        report = load(
            settings.FIXTURES / "demo",
            by=by,
            at=clock.now(),
            leave_unverified=True,  # one overhaul waits for its second person
            progress=progress_to(self.stderr),
        )
        if report.faults:
            raise CommandError("; ".join(str(fault) for fault in report.faults[:10]))
        sites, at = {site.name: site for site in Site.objects.all()}, clock.now()
        for sign_in in SIGN_INS:
            user = set_password(sign_in.username, sign_in.name, PASSWORD, by=by, at=at)
            for name, role in product(sign_in.sites, sign_in.roles):
                give_role(user, sites[name], role, by=by, at=at)
        answer_proposals(at=at)
        say_settings(at=at)
        plan_the_outages(at=at)
        catch_up(at=clock.now(), progress=progress_to(self.stderr))

    def _say(self, port):
        self.stdout.write(f"\n{SITE}, as of {AS_OF:%-d %B %Y}: http://127.0.0.1:{port}/\n\n")
        for sign_in in SIGN_INS:
            roles = ", ".join(sign_in.roles)
            where = "" if SITE in sign_in.sites else f" of {sign_in.sites[0]}"
            who = f"{sign_in.name}, {roles}{where}"
            self.stdout.write(f"  {sign_in.username:<14} {PASSWORD}   {who}")
        self.stdout.write("\nStop with Ctrl-C.\n")
