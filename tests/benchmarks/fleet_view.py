"""The fleet's first pops by model, service, unit and year, and keeping a page of them quick.

`python -m tests.benchmarks.fleet_view [DEVICES]`; four overhauls a device, so that 40,000 have the
160,000 first pops of 20,000 devices popped eight times. Goal: a page within a second.
"""

import sys

from django.test import Client

from fleet.models import Membership
from tests.benchmarks import plant
from tests.benchmarks.bench import once, scratch, seconds
from tests.benchmarks.reviewed import overhaul, sites_of

GOAL = 1.0
PAGES = ("", "?by=service", "?by=unit", "?by=year", "?service=steam", "?by=year&as_of=2012-12-31")


def main(count: int) -> bool:
    with scratch():
        by = plant.person()
        overhaul(plant.grow(count, by=by, tests_each=0, owed=False), by=by)
        for site in sites_of(count):
            Membership.objects.create(user=by, site=site, role="engineer")
        client = Client()
        client.force_login(by)
        taken = []
        for query in PAGES:
            first = once(lambda query=query: client.get("/settings-review/fleet/" + query))
            again = seconds(lambda query=query: client.get("/settings-review/fleet/" + query))
            taken.append(first)
            print(f"first pops {query or 'as it opens'}: {first:.3f} s, then {again:.3f} s")
        return max(taken) <= GOAL


if __name__ == "__main__":
    sys.exit(not main(int(sys.argv[1]) if sys.argv[1:] else 40_000))
