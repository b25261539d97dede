"""Replaying 100,000 positions under every kind of rule, against reading and writing the same rows.

`python -m tests.benchmarks.mixed [POSITIONS]`; ten tests each, groups of 25, and what counters,
releases and days out of service there are.
"""

import sys
from datetime import date, timedelta

from fleet import ledger
from fleet import models as fleet
from tests.benchmarks import plant
from tests.benchmarks.bench import compare, once, scratch, undone
from tests.benchmarks.replay import LIMIT, read_and_write_back

GROUP_OF = 25
KINDS = (
    ("max_gap", {"gap": "P2Y"}),
    ("calendar", {"times": 1, "unit": "year", "n": 1, "gap": "P15M"}),
    ("rolling", {"count": 2, "window": "P5Y", "gap": "P3Y"}),
    ("capped", {"target": "P20M", "cap": "P2Y"}),
    ("age_steps", {"steps": [["P4Y", "P4Y"], ["P12Y", "P2Y"], [None, "P1Y"]]}),
    ("usage", {"counter": "service_days", "count": 92}),
    ("after_event", {"kinds": ["release"], "days": 5}),
    ("before_use", {"lead": "P0D", "window": "P6M"}),
    (
        "group_sample",
        {"fraction": "0.20", "window": "P24M", "gap": "P5Y", "expansion": 2, "band": "3 %"},
    ),
    ("max_gap", {"gap": "P2Y", "out_of_service": "test_before_return"}),
)


def mix(positions: list[fleet.Position], by: fleet.User) -> None:
    """Give every tenth position another kind of rule, and what happens under it."""
    stamps = {"recorded_at": plant.AT, "recorded_by": by}
    rules = [
        fleet.IntervalRule.objects.create(
            code=f"bench-{number}", kind=kind, parameters=parameters, citation="own", **stamps
        )
        for number, (kind, parameters) in enumerate(KINDS)
    ]
    for place in positions:
        place.in_service_on = plant.FIRST_DAY
    fleet.Position.objects.bulk_update(positions, ["in_service_on"], batch_size=plant.BATCH)
    fleet.Obligation.objects.bulk_create(
        (
            fleet.Obligation(
                position=place,
                activity="bench_test",
                rule=rules[number % len(rules)],
                season="10-01" if KINDS[number % len(rules)][0] == "before_use" else "",
                group=_group(number) if KINDS[number % len(rules)][0] == "group_sample" else "",
                **stamps,
            )
            for number, place in enumerate(positions)
        ),
        batch_size=plant.BATCH,
    )
    _happen(positions, stamps)


def _group(number: int) -> str:
    return f"group {number // (len(KINDS) * GROUP_OF)}"


def _days(number: int, times: int) -> list[date]:
    return [plant.FIRST_DAY + timedelta(days=400 * turn + number % 300) for turn in range(times)]


def _happen(positions: list[fleet.Position], stamps: dict) -> None:
    by_kind = [positions[turn :: len(KINDS)] for turn in range(len(KINDS))]
    fleet.CounterReading.objects.bulk_create(
        (
            fleet.CounterReading(
                position=place, counter="service_days", read_on=day, value=40 * turn, **stamps
            )
            for number, place in enumerate(by_kind[5])
            for turn, day in enumerate(_days(number, 15))
        ),
        batch_size=plant.BATCH,
    )
    fleet.Trigger.objects.bulk_create(
        (
            fleet.Trigger(position=place, kind="release", happened_on=day, **stamps)
            for number, place in enumerate(by_kind[6])
            for day in _days(number, 5)
        ),
        batch_size=plant.BATCH,
    )
    fleet.OutOfService.objects.bulk_create(
        (
            fleet.OutOfService(
                position=place, from_on=day, to_on=day + timedelta(days=90), **stamps
            )
            for number, place in enumerate(by_kind[9])
            for day in _days(number, 3)
        ),
        batch_size=plant.BATCH,
    )


def main(count: int) -> bool:
    with scratch():
        by = plant.person()
        positions = plant.grow(count, by=by, owed=False)
        mix(positions, by)
        ids = [position.pk for position in positions]
        taken = once(lambda: ledger.replay_positions(ids, at=plant.AT))
        rows = sum(
            table.objects.count()
            for table in (fleet.ServiceEvent, fleet.Installation, fleet.ObligationSpan)
        )
        base = undone(read_and_write_back)
        print(f"{count} positions, {rows} events, fittings and spans: {rows / taken:,.0f} a second")
        return compare("replay", taken, "reading and writing back", base, LIMIT)


if __name__ == "__main__":
    sys.exit(not main(int(sys.argv[1]) if sys.argv[1:] else 100_000))
