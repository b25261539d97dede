"""A shop whose overhaul is verified, on a stopped day."""

from datetime import date

import pytest

from fleet.models import ServiceEvent
from tests.inspections.shop import LOW_RING, SCREW, Shop
from tests.inspections.views.bench.pages import client_of

TODAY = date(2024, 6, 1)
RING = LOW_RING["setting"]


@pytest.fixture(autouse=True)
def _the_day(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def shop():
    """Ring and screw, an overhaul in 2022 that left the ring at 5 notches and saw the disc worn."""
    shop = Shop(activity="overhaul")
    shop.point()
    shop.point(required=False, datum="first thread engagement", **SCREW)
    earlier = shop.open("overhaul", day=date(2022, 5, 1))
    shop.finish(earlier, found="156 psig", settings=read("4 notches", "5 notches"),
                findings=[{"part": "disc", "condition": "seat scored", "action": "cleaned",
                           "measure": "seat width", "value": "1/16 in", "order": 1}])  # fmt: skip
    return shop


def read(found, left, **more):
    return {(RING, "as_found"): found, (RING, "as_left"): left} | more


@pytest.fixture
def job(shop):
    return shop.open("overhaul")


@pytest.fixture
def locked(shop, job):
    """Left a notch off, with a reason, and a screw that counts in fractions."""
    moved = {"value": "6 notches", "datum": "ring touching the disc holder",
             "changed_reason": "simmer", "changed_by": shop.mechanic}  # fmt: skip
    screw = {"value": "15 1/4 turns", "datum": "first thread engagement"}
    settings = read("5 notches", moved)
    settings[(SCREW["setting"], "as_found")] = screw
    settings[(SCREW["setting"], "as_left")] = screw | {"value": "15 3/8 turns"}
    return shop.finish(
        job,
        found="156 psig",
        left="150.0 psig",
        settings=settings,
        gauge="TG-7",
        gauge_range="0 to 300 psig",
        gauge_accuracy="0.25 %",
        gauge_due_on=date(2024, 12, 1),
        seal_found="S-100",
        seal_left="S-201",
        medium="air",
        remarks="clean",
        findings=[
            {
                "part": "spindle",
                "condition": "run-out",
                "action": "straightened",
                "measure": "run-out",
                "value": "0.002 in",
                "order": 1,
            }
        ],
    )


@pytest.fixture
def mechanic(shop):
    return client_of(shop.mechanic)


@pytest.fixture
def counted(locked):
    assert ServiceEvent.objects.filter(ref=locked.ref, is_counted=True).exists()
    return locked
