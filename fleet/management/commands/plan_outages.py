"""The proposed assignment of a site's work to its outages, worked out and printed, not kept."""

import time
from decimal import Decimal
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from fleet import clock, exports
from fleet.calc.outages import Conflicting, propose
from fleet.management import arguments
from fleet.models import Site
from fleet.planning import EFFORT
from fleet.reports.plan_reasons import conflict_words
from fleet.reports.plan_rows import COLUMNS, PlanRow, rows_of, summary_of
from fleet.reports.plan_work import work_of

SUMS = ("jobs", "unplaced", "unplaced_bound", "days_given_up", "days_bound")


class Command(BaseCommand):
    help = (
        "Propose which outage each job goes into: everything due in the horizon, and all that is "
        "overdue or without a record. Nothing is kept; a plan is accepted on the site's pages."
    )

    def add_arguments(self, parser):
        parser.add_argument("--from", dest="from_on", metavar="D", required=True)
        parser.add_argument("--to", dest="to_on", metavar="D", required=True)
        parser.add_argument("--site", metavar="S", help="one site, by name")
        parser.add_argument("--format", choices=["table", "csv", "json"], default="table")
        parser.add_argument("--by", metavar="USER", help="only what this person may see")

    def handle(self, *args, **options):
        from_on = arguments.day(options["from_on"], "--from")
        to_on = arguments.day(options["to_on"], "--to")
        if to_on < from_on:
            raise CommandError(f"--to “{to_on}”: a day on or after {from_on} was expected")
        rows, summary = self._planned(_sites(options), from_on, to_on)
        dicts = (row.as_dict() for row in rows)
        for piece in exports.pieces(options["format"], COLUMNS, dicts, summary):
            self.stdout.write(piece, ending="")

    def _planned(self, sites, from_on, to_on) -> tuple[list[PlanRow], dict[str, Any]]:
        """The rows of every site, and one summary of all."""
        rows, summaries, began = [], [], time.perf_counter()
        for site in sites:
            work = work_of(site, from_on, to_on, min(from_on, clock.today()))
            try:
                proposal = propose(work.problem, EFFORT)
            except Conflicting as conflicting:
                words = "; ".join(conflict_words(work, conflicting))
                raise CommandError(f"{site}: {words}") from conflicting
            found = rows_of(work, proposal)
            rows += found
            summaries.append(summary_of(found, proposal))
        return rows, _whole(summaries, time.perf_counter() - began)


def _sites(options) -> list[Site]:
    sites = Site.objects.order_by("name")
    if user := arguments.user(options["by"]):
        sites = sites.visible_to(user)
    if pk := arguments.site(options["site"]):
        sites = sites.filter(pk=pk)
    return list(sites)


def _whole(summaries: list[dict[str, Any]], seconds: float) -> dict[str, Any]:
    """Sites share no outage: their counts add up, and the weakest status is that of the whole."""
    whole = {name: sum(each[name] for each in summaries) for name in SUMS}
    gap = whole["days_given_up"] - whole["days_bound"]
    statuses = {each["solver_status"] for each in summaries}
    ranked = [status for status in ("stopped", "feasible", "optimal") if status in statuses]
    return {
        **whole,
        "gap": round(Decimal(gap) / max(whole["days_bound"], 1), 4),
        "seconds": round(Decimal(seconds), 2),
        "solver_status": ranked[0] if ranked else "optimal",
    }
