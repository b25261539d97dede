"""What every test stands on: locks around the flush, and how hard the property tests try."""

import os

import pytest
from django.db import connections
from django.test import TransactionTestCase
from hypothesis import settings as hypothesis_settings

from fleet import locks

IN_CI = os.environ.get("CI") == "true"
hypothesis_settings.register_profile(
    "fleet",
    deadline=None,  # a busy machine is not a failure
    max_examples=50 if IN_CI else 25,
    derandomize=IN_CI,  # the same commit gives the same answer
)
hypothesis_settings.load_profile("fleet")


@pytest.fixture(scope="session", autouse=True)
def _locks_step_aside_for_the_flush():
    """A test that commits is cleaned up by emptying every table, which the locks refuse.

    They are lifted for the flush and laid again at once; the product itself has no such door.
    """
    flush = TransactionTestCase._fixture_teardown

    def flush_between(case):
        connection = connections["default"]
        locks.lift(connection)
        try:
            flush(case)
        finally:
            locks.lay(connection)

    TransactionTestCase._fixture_teardown = flush_between
    yield
    TransactionTestCase._fixture_teardown = flush
