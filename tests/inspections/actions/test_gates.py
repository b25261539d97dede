"""The gates, as one table: every work on a spring valve, in every state its record may stand in.

No stripping before the first pop and the settings as found, or why they are missing; no signature
on work that goes back without its as-left (API RP 576 6.2.9: the as-received pop comes before any
cleaning; settings are read before dismantling: practice of the trade).
"""

import pytest

from inspections.actions.gates import before_signing, before_stripping
from inspections.actions.records import records_of
from inspections.actions.targets import targets_of
from inspections.models import Inspection
from tests.inspections.shop import Shop

pytestmark = pytest.mark.django_db

FOUND, LEFT = ("lower_ring", "as_found"), ("lower_ring", "as_left")
FIRST, SET = {("as_found", 1): "151 psig"}, {("as_left", 1): "150 psig"}
GONE = {"missing_reason": "ring seized to the guide"}
LAPPED = [{"part": "seat", "condition": "scored", "action": "lapped", "order": 1}]
STATES = {
    "nothing": {},
    "first pop": {"pops": FIRST},
    "waived": {"waived_reason": "plugged with polymer"},
    "found missing": {"pops": FIRST, "settings": {FOUND: GONE}},
    "stripped": {"pops": FIRST, "findings": LAPPED},
    "stripped, found": {"pops": FIRST, "settings": {FOUND: "5 notches"}, "findings": LAPPED},
    "left missing": {"pops": FIRST | SET, "settings": {FOUND: "5 notches", LEFT: GONE}},
    "unpopped": {"pops": FIRST, "settings": {FOUND: "5 notches", LEFT: "5 notches"}},
    "scrapped": {"waived_reason": "body cracked", "disposition": "scrapped"},
    "scrapped, found": {
        "waived_reason": "body cracked",
        "disposition": "scrapped",
        "settings": {FOUND: GONE},
    },
    "whole": {"pops": FIRST | SET, "settings": {FOUND: "5 notches", LEFT: "5 notches"}},
}
P1, FND, LFT, P2 = "first_pop", "lower_ring as found", "lower_ring as left", "as_left_pop"
RNG = "contact check"
# What is asked before it is stripped, and before it is signed.
OVERHAUL = {
    "nothing": ([P1, FND], [P1, P2, FND, LFT]),
    "first pop": ([FND], [P2, FND, LFT]),
    "waived": ([FND], [P2, FND, LFT]),
    "found missing": ([], [P2, LFT]),
    "stripped": ([FND], [P2, RNG, FND, LFT]),
    "stripped, found": ([], [P2, RNG, LFT]),
    "left missing": ([], [LFT]),
    "unpopped": ([], [P2]),
    "scrapped": ([FND], [FND]),
    "scrapped, found": ([], []),
    "whole": ([], []),
}
TEST = {  # nothing is stripped, so no setting is asked for: only the pops
    "nothing": [P1, P2],
    "first pop": [P2],
    "waived": [P2],
    "found missing": [P2],
    "stripped": [P2, RNG],
    "stripped, found": [P2, RNG],
    "left missing": [],
    "unpopped": [P2],
    "scrapped": [],
    "scrapped, found": [],
    "whole": [],
}
LOOK = {state: [RNG] if state.startswith("stripped") else [] for state in STATES}  # nothing pops
WHERE = "disposition"  # without it the work counts towards no date, and nobody would be told
HANDLED = {state: ([] if "scrapped" in state else [WHERE]) + asked for state, asked in LOOK.items()}
SIGNED = {
    "bench_test": TEST,
    "in_place_test": TEST,
    "lever": HANDLED,
    "visual": LOOK,
    "capacity_review": LOOK,
    "replacement": HANDLED,
}


@pytest.fixture
def shop():
    shop = Shop()
    shop.point()  # a ring that the model requires
    return shop


def fields(gate, job):
    [record] = records_of([Inspection.objects.get(pk=job.pk)])
    return [fault.field for fault in gate(record, targets_of(job))]


def standing(shop, activity, state):
    return shop.save(shop.open(activity), **STATES[state])


@pytest.mark.parametrize("state", STATES)
def test_an_overhaul_is_asked(shop, state):
    job = standing(shop, "overhaul", state)
    asked = fields(before_stripping, job), fields(before_signing, job)
    assert asked == OVERHAUL[state]


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("activity", SIGNED)
def test_work_that_strips_nothing_is_asked(shop, activity, state):
    job = standing(shop, activity, state)
    assert sorted(fields(before_signing, job)) == sorted(SIGNED[activity][state])
