"""Workload ahead of many positions over ten years, beside only reading the same due lines.

`python -m tests.benchmarks.workload [POSITIONS]`; one obligation a position, every two years.
"""

import sys

from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import ledger
from fleet.reports.due import DueList
from fleet.reports.workload import YEARS, Workload
from tests.benchmarks import plant
from tests.benchmarks.bench import compare, scratch, seconds

LIMIT = 15  # times the floor: at 20,000, 100,000 visits are walked through twice


def main(count: int) -> bool:
    with scratch():
        positions = plant.grow(count, by=plant.person())
        ledger.replay_positions([position.pk for position in positions], at=plant.AT)
        as_of = plant.AT.date()
        work = Workload(as_of, YEARS[-1])
        with CaptureQueriesContext(
            connection,
        ) as asked:
            visits = sum(site.whole.total.visits for site in work.sites)
        print(f"{count} positions, {visits} visits in {YEARS[-1]} years, {len(asked)} queries")
        taken = seconds(lambda: Workload(as_of, YEARS[-1]).sites, times=3)
        floor = seconds(lambda: DueList(as_of).lines(), times=3)
        return compare("workload of ten years", taken, "reading the due lines", floor, LIMIT)


if __name__ == "__main__":
    sys.exit(not main(int(sys.argv[1]) if sys.argv[1:] else 20_000))
