"""A scratch database, a stopwatch, and the line that says how two things compare."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from tempfile import TemporaryDirectory

from django.db import connection, transaction
from django.test.utils import setup_test_environment


@contextmanager
def scratch() -> Iterator[None]:
    """An empty migrated database: an SQLite file, or one on the DATABASE_URL's server."""
    kept = connection.settings_dict["NAME"]
    with TemporaryDirectory() as folder:
        if connection.vendor == "sqlite":  # a file, as in use, not memory
            connection.settings_dict["TEST"]["NAME"] = f"{folder}/bench.sqlite3"
        setup_test_environment(debug=False)
        connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
        try:
            yield
        finally:
            connection.creation.destroy_test_db(kept, verbosity=0)


class _Undo(Exception):
    """Ends a transaction that is only timed."""


def seconds(call: Callable[[], object], *, times: int = 5) -> float:
    """The quickest of several runs: what it costs when nothing else is in the way."""
    return min(once(call) for _ in range(times))


def once(call: Callable[[], object]) -> float:
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


def undone(call: Callable[[], object]) -> float:
    """Seconds of a write that is rolled back after it is timed."""
    taken = 0.0
    try:
        with transaction.atomic():
            taken = once(call)
            raise _Undo
    except _Undo:
        return taken


def compare(what: str, taken: float, against: str, base: float, limit: float) -> bool:
    """Print the ratio; answers whether it is within the limit."""
    ratio = taken / base
    verdict = "within" if ratio <= limit else "BEYOND"
    print(
        f"{what}: {taken:.3f} s; {against}: {base:.3f} s; "
        f"ratio {ratio:.2f}, {verdict} {limit:g} ({connection.vendor})"
    )
    return ratio <= limit
