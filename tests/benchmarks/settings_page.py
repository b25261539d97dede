"""The settings review's page at 1,000 devices and at many, and keeping it up to date.

`python -m tests.benchmarks.settings_page [DEVICES]`; four overhauls a device. 100,000 take some
minutes to write and to state once; the page is then timed as it opens, filtered and sorted.
"""

import sys
from datetime import timedelta
from time import perf_counter, process_time

from django.db import connection
from django.test import Client

from fleet import audit, clock
from fleet.models import Membership, Site
from inspections.kept.catching_up import catch_up, catch_up_if_few, restate
from inspections.models import Inspection, Screening, SettingState
from tests.benchmarks import plant
from tests.benchmarks.bench import compare, once, scratch
from tests.benchmarks.reviewed import overhaul

LIMIT, SMALL = 2, 1_000
PAGES = ("", "?flag=any", "?flag=trending", "?sort=device", "?page=3")


def timed(client: Client, query: str) -> float:
    """The quickest of several; on SQLite of the processor, which no neighbour disturbs."""
    clock_of = process_time if connection.vendor == "sqlite" else perf_counter

    def call() -> float:
        start = clock_of()
        response = client.get("/settings-review/" + query)
        assert response.status_code == 200, response.status_code
        return clock_of() - start

    return min(call() for _ in range(8))


def grown(count: int, by) -> tuple[dict[str, float], float]:
    """The fleet grown by so many devices and stated, and a reader who sees only those."""
    positions = plant.grow(count, by=by, tests_each=0, owed=False)
    overhaul(positions, by=by)
    site = Site.objects.get(pk=positions[0].site_id)
    audit.record([audit.change("site written", site)], by=by, at=plant.AT)
    whole = once(lambda: restate(at=clock.now()))
    print(f"{count} devices more, everything stated in {whole:.1f} s", flush=True)
    reader = type(by).objects.create_user(f"reader {count}", name=f"Reader {count}")
    Membership.objects.create(user=reader, site=site, role="engineer")
    client = Client()
    client.force_login(reader)
    first = once(lambda: client.get("/settings-review/"))
    print(f"{SettingState.objects.count()} settings kept; counted the first time: {first:.3f} s")
    return {query: timed(client, query) for query in PAGES}, whole


def one_record(by) -> float:
    """Seconds until a record more is in the kept review."""
    last = Inspection.objects.order_by("pk").last()
    again = Inspection.objects.get(pk=last.pk)
    again.pk, again.ref, again.done_on = None, "one more", last.done_on + timedelta(days=1)
    again.save()
    audit.record([audit.change("inspection locked", again)], by=by, at=plant.AT)
    page = once(lambda: catch_up_if_few(at=clock.now()))
    print(f"one record more on the page {page:.3f} s", flush=True)
    return page + once(lambda: catch_up(at=clock.now()))


def main(count: int) -> bool:
    with scratch():
        by = plant.person()
        (small, _), (large, whole) = grown(SMALL, by), grown(count, by)
        held = [
            compare(
                f"settings review {query or 'as it opens'} at {count}",
                large[query],
                f"at {SMALL}",
                small[query],
                LIMIT,
            )
            for query in PAGES
        ]
        one = one_record(by)
        print(f"one record more: {one:.3f} s; everything again: {whole:.1f} s, {whole / one:.0f} x")
        kept = Screening.objects.get()
        print(f"judged {kept.judged}, expected false {kept.expected_false:.1f}")
        return all(held)


if __name__ == "__main__":
    sys.exit(not main(int(sys.argv[1]) if sys.argv[1:] else 20_000))
