"""A plan from the database and back, and its page at 1,000 lines and at many.

`python -m tests.benchmarks.plans [POSITIONS]`; an outage of two units every two months, because
the page draws each outage: what grows is the number of lines. The floors:
reading the same lines once, writing the same rows once. How long solving takes, and how near its
bounds it comes, is `tests.benchmarks.planning`.
"""

import sys
import time
from datetime import date, timedelta
from decimal import Decimal

from django.db import connection
from django.test import Client

from fleet import ledger, planning
from fleet.calc.outages import propose
from fleet.models import JobHours, Membership, Outage, Plan, PlannedJob, Site
from fleet.reports.due_lines import lines_of, sources
from fleet.reports.plan_rows import rows_of
from fleet.reports.plan_work import work_of
from tests.benchmarks import plant
from tests.benchmarks.bench import compare, once, scratch, undone

PAGE_LIMIT, LIMIT, SMALL = 2, 5, 1_000
FROM, TO = date(2025, 12, 1), date(2026, 12, 31)
PAGES = ("", "?sort=-days_given_up", "?status=no_opportunity", "?find=PSV&work=any")


def grown(count: int, by) -> Site:
    """A plant whose tests fall due over a year, with outages every two months."""
    positions = plant.grow(count, by=by, tests_each=10)
    ledger.replay_positions([position.pk for position in positions], at=plant.AT)
    site = Site.objects.get(pk=positions[0].site_id)
    for unit in site.units.all()[:2]:
        for turn in range(7):
            starts_on = FROM + timedelta(days=5 + 60 * turn)
            outage = Outage.objects.create(
                site=site,
                name=f"{unit} {turn}",
                starts_on=starts_on,
                ends_on=starts_on + timedelta(days=20),
                bench_hours=Decimal(plant.POSITIONS_A_UNIT * 8) / 7,
            )
            outage.units.add(unit)
    return site


def timed(site: Site, by) -> dict[str, float]:
    """Seconds of each part, and of each page."""
    reader = type(by).objects.create_user(f"reader {site.pk}", name=f"Reader {site.pk}")
    Membership.objects.create(user=reader, site=site, role="planner")
    taken = {
        "lines alone": once(lambda: [lines_of(part) for part in _parts(site)]),
        "reading": once(lambda: work_of(site, FROM, TO)),
    }
    work = work_of(site, FROM, TO)
    began = time.perf_counter()
    proposal = propose(work.problem)
    taken["solving"] = time.perf_counter() - began
    taken["saying"] = once(lambda: rows_of(work, proposal))
    plan = planning.plans.ask(site, FROM, TO, by=reader, at=plant.AT)
    taken["whole job"] = once(lambda: planning.plan_job(plan.job, lambda *beat: None, at=plant.AT))
    plan.refresh_from_db()
    taken["in and out"] = taken["whole job"] - float(plan.seconds)
    rows = list(plan.jobs.all())
    copy = Plan.objects.create(
        site=site, from_on=FROM, to_on=TO, recorded_at=plant.AT, recorded_by=reader
    )
    taken["rows alone"] = undone(lambda: _write(rows, copy))
    print(f"{site}: {len(rows)} lines, {proposal.status}, " + _said(taken), flush=True)
    copy.delete()
    planning.accept(
        plan, by=reader, at=plant.AT
    )  # in force it is compared with what happened since
    client = Client()
    client.force_login(reader)
    return taken | {query: _page(client, plan, query) for query in PAGES}


def _parts(site: Site):
    from_lines = [part.filter(line_site=site.pk) for part in sources(FROM)]
    return [part.values_list(*part.query.annotations) for part in from_lines]


def _write(rows: list[PlannedJob], plan: Plan) -> None:
    for row in rows:
        row.pk, row.plan = None, plan
    PlannedJob.objects.bulk_create(rows, batch_size=500)


def _page(client: Client, plan: Plan, query: str) -> float:
    """Of the processor on SQLite, which no neighbour disturbs; the quickest of several."""
    clock_of = time.process_time if connection.vendor == "sqlite" else time.perf_counter

    def call() -> float:
        start = clock_of()
        response = client.get(f"/plans/{plan.pk}/{query}")
        assert response.status_code == 200, response.status_code
        return clock_of() - start

    return min(call() for _ in range(6))


def _said(taken: dict[str, float]) -> str:
    return ", ".join(f"{name} {figure:.2f} s" for name, figure in taken.items())


def main(count: int) -> bool:
    with scratch():
        by = plant.person()
        JobHours.objects.create(activity="bench_test", hours="7.25")
        small, large = timed(grown(SMALL, by), by), timed(grown(count, by), by)
        held = [
            compare(
                f"plan {query or 'as it opens'} at {count}",
                large[query],
                f"at {SMALL}",
                small[query],
                PAGE_LIMIT,
            )
            for query in PAGES
        ]
        floor = large["lines alone"] + large["rows alone"]
        held.append(
            compare("reading and writing", large["in and out"], "the rows alone", floor, LIMIT)
        )
        return all(held)


if __name__ == "__main__":
    sys.exit(not main(int(sys.argv[1]) if sys.argv[1:] else 20_000))
