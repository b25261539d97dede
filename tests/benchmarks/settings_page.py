"""The settings review's pages at 1,000 devices and at many, and keeping them up to date.

`python -m tests.benchmarks.settings_page [DEVICES]`; four overhauls a device. Beyond `IN_EARNEST`
devices the kept rows are copies in SQL of those of the first 500 (`kept_copies`, which says what of
them is each device's own), and a sample is stated in earnest to show that nothing differs.
"""

import sys
from datetime import date, timedelta
from time import perf_counter, process_time

from django.db import connection
from django.test import Client

from fleet import audit, clock
from fleet.models import Membership
from inspections.actions.acknowledge import acknowledge
from inspections.kept.catching_up import catch_up, catch_up_if_few, restate
from inspections.models import FlagState, Inspection, Screening, SettingState
from tests.benchmarks import plant
from tests.benchmarks.bench import compare, once, scratch
from tests.benchmarks.kept_copies import devices_of, differing, state_copied
from tests.benchmarks.reviewed import overhaul, sites_of

LIMIT, SMALL = 2, 1_000
IN_EARNEST = 20_000
PAST = date(2013, 12, 31)
PAGES = (
    *("", "?flag=any", "?flag=out_of_tolerance", "?flag=trending", "?flag=nothing_flagged"),
    *("?service=steam", "?acknowledged=yes", "?acknowledged=no", "?sort=device", "?sort=-tag"),
    *("?page=3", "?service=nitrogen&flag=any&sort=setting"),
    *(f"?as_of={PAST}", f"?as_of={PAST}&flag=any&page=3", f"?as_of={PAST}&sort=device"),
)
ANSWERED = 200  # flags that somebody has answered


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
    sites = sites_of(count)
    audit.record([audit.change("site written", site) for site in sites], by=by, at=plant.AT)
    at = clock.now()
    if count <= IN_EARNEST:
        whole = once(lambda: restate(at=at))
        past = once(lambda: catch_up(at=at, day=PAST))
    else:
        devices = devices_of([site.pk for site in sites])
        whole = once(lambda: state_copied(devices, at=at))
        past = once(lambda: state_copied(devices, at=at, day=PAST))
        print(f"{differing(devices, at=at)} kept rows of a sample differ when stated in earnest")
    print(f"{count} devices more, kept in {whole:.1f} s, a past day in {past:.1f} s", flush=True)
    answer(count, by)
    reader = type(by).objects.create_user(f"reader {count}", name=f"Reader {count}")
    for site in sites:
        Membership.objects.create(user=reader, site=site, role="engineer")
    client = Client()
    client.force_login(reader)
    first = once(lambda: client.get("/settings-review/"))
    print(f"{SettingState.objects.count()} settings kept; counted the first time: {first:.3f} s")
    return {query: timed(client, query) for query in PAGES}, whole


def answer(count: int, by) -> None:
    """Some of the flags of the fleet of so many devices answered, and taken in."""
    of = FlagState.objects.filter(
        state__screening__day=None, state__home__name__startswith=f"Plant of {count}"
    )
    for flag in of.select_related("state").order_by("pk")[: ANSWERED * 7 : 7]:
        acknowledge(
            device=flag.state.device_id,
            setting=flag.state.setting,
            code=flag.code,
            fingerprint=flag.fingerprint,
            note="looked at it",
            by=by,
            at=clock.now(),
        )
    catch_up(at=clock.now())
    catch_up(at=clock.now(), day=PAST)


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
        kept = Screening.objects.of_today()
        print(f"judged {kept.judged}, expected false {kept.expected_false:.1f}")
        return all(held)


if __name__ == "__main__":
    sys.exit(not main(int(sys.argv[1]) if sys.argv[1:] else 20_000))
