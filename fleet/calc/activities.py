"""The activities, who earns them, and what each satisfies.

A shop test sees nothing of the piping, so only a visual satisfies visual. A test in place never
stands for a bench test (API RP 576 6.3). A replacement satisfies replacement alone: whatever else
the incoming device brings is its own record.
"""

SATISFIES: dict[str, frozenset[str]] = {
    "visual": frozenset({"visual"}),
    "lever": frozenset({"lever"}),
    "in_place_test": frozenset({"in_place_test", "lever"}),
    "bench_test": frozenset({"bench_test", "in_place_test", "lever"}),
    "overhaul": frozenset({"overhaul", "bench_test", "in_place_test", "lever"}),
    "disc_change": frozenset({"disc_change"}),
    "capacity_review": frozenset({"capacity_review"}),
    "replacement": frozenset({"replacement"}),
}
ACTIVITIES = tuple(SATISFIES)

# Earned by the position itself; every other activity is earned by the device, and goes with it.
EARNED_IN_PLACE = frozenset({"visual", "capacity_review", "replacement"})


def satisfies(done: str, owed: str) -> bool:
    """Does having done one activity count for the other? KeyError for an unknown one done."""
    return owed in SATISFIES[done]
