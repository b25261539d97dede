"""Invented plants for the planner's benchmark: units, their outages, jobs that fall due."""

import random
from collections import defaultdict
from datetime import date, timedelta
from decimal import Decimal

from fleet.calc.outages import Line, Problem, Slot, Visit

FROM = date(2026, 1, 1)
DAYS = 5 * 365
QUARTER = Decimal("0.25")


def grow(jobs: int, outages: int, *, seed: int = 1, is_roomy: bool = False) -> Problem:
    """An outage shuts down one to three of six to twelve units. Jobs take 2 to 24 h in quarters.

    Each outage offers 85 to 95 % of the hours of the jobs whose last outage in time it is, so that
    hours bind everywhere. With `is_roomy` what does not fit there is on offer in the outage before,
    so that nearly every job has a place, if seldom its best.
    """
    rng = random.Random(seed)
    units = range(rng.randint(6, 12))
    starts = sorted(rng.randrange(0, DAYS, 7) for _ in range(outages))
    shut = [set(rng.sample(units, rng.randint(1, 3))) for _ in starts]
    for unit in units:
        if not any(unit in each for each in shut):
            shut[rng.randrange(outages)].add(unit)
    of_unit = {u: [n for n, each in enumerate(shut) if u in each] for u in units}
    visits, asked = [], [Decimal(0)] * outages
    spilled: dict[int, Decimal] = defaultdict(Decimal)
    for number in range(jobs):
        unit, hours = rng.choice(units), QUARTER * rng.randint(8, 96)
        own = of_unit[unit]
        due = rng.randint(starts[own[0]], DAYS)
        in_time = [n for n in own if starts[n] <= due]
        asked[in_time[-1]] += hours
        if len(in_time) > 1:
            spilled[in_time[-2]] += hours * Decimal("0.15")
        line = Line(number, FROM + timedelta(due))
        severity = rng.choices((0, 1, 2), (90, 7, 3))[0]
        visits.append(Visit(number, (line,), hours, tuple(own), severity))
    slots = []
    for number, start in enumerate(starts):
        share = Decimal(rng.randint(85, 95)) / 100
        offered = asked[number] * share + (spilled[number] if is_roomy else 0)
        offered = max(offered // QUARTER * QUARTER, Decimal(8))
        slots.append(Slot(number, FROM + timedelta(start), offered))
    return Problem(FROM, tuple(slots), tuple(visits))
