"""One shop for the bench's tests: a mechanic, another, an engineer, and an open overhaul."""

from datetime import date

import pytest

from tests import factories
from tests.inspections.shop import Shop
from tests.inspections.views.bench.pages import RING, client_of


@pytest.fixture(autouse=True)
def _the_day(settings):
    settings.FIXED_TODAY = date(2024, 6, 1)


@pytest.fixture
def shop():
    """A device whose ring was left at 5 notches, and what was then popped."""
    shop = Shop(activity="overhaul")
    shop.point()
    job = shop.open("overhaul", day=date(2022, 5, 1))
    read = {(RING, "as_found"): "5 notches", (RING, "as_left"): "5 notches"}
    shop.finish(job, settings=read)
    return shop


@pytest.fixture
def mechanic(shop):
    return client_of(shop.mechanic)


@pytest.fixture
def other(shop):
    return client_of(factories.MembershipFactory(site=shop.site, role="mechanic").user)


@pytest.fixture
def second(shop):
    return client_of(shop.second)


@pytest.fixture
def job(shop):
    return shop.open("overhaul")


@pytest.fixture
def signed(shop, job):
    """The job, finished and signed by the mechanic."""
    shop.popped(job, settings={(RING, "as_found"): "5 notches", (RING, "as_left"): "5 notches"})
    return shop.sign(job)


@pytest.fixture
def locked(shop, signed):
    shop.verify(signed)
    return signed
