"""The due list's first page, filtered and sorted, at 1,000 positions and at many.

`python -m tests.benchmarks.due_page [POSITIONS]`; ten tests a position.
"""

import sys

from django.test import Client

from fleet import ledger
from fleet.models import Membership, Site
from tests.benchmarks import plant
from tests.benchmarks.bench import compare, scratch, seconds

LIMIT, SMALL = 2, 1_000
PAGES = ("", "?sort=tag", "?sort=-due_on", "?status=compliant&sort=due_on", "?find=PSV")


def timed(client: Client, query: str) -> float:
    def call() -> None:
        response = client.get("/due/" + query)
        assert response.status_code == 200, response.status_code

    call()
    return seconds(call)


def grown(count: int, by) -> dict[str, float]:
    """A plant of its own, and a reader who sees only it."""
    positions = plant.grow(count, by=by)
    ledger.replay_positions([position.pk for position in positions], at=plant.AT)
    site = Site.objects.get(pk=positions[0].site_id)
    reader = type(by).objects.create_user(f"reader {count}", name=f"Reader {count}")
    Membership.objects.create(user=reader, site=site, role="planner")
    client = Client()
    client.force_login(reader)
    return {query: timed(client, query) for query in PAGES}


def main(count: int) -> bool:
    with scratch():
        by = plant.person()
        small, large = grown(SMALL, by), grown(count, by)
        held = [
            compare(
                f"due list {query or 'as it opens'} at {count}",
                large[query],
                f"at {SMALL}",
                small[query],
                LIMIT,
            )
            for query in PAGES
        ]
        return all(held)


if __name__ == "__main__":
    sys.exit(not main(int(sys.argv[1]) if sys.argv[1:] else 20_000))
