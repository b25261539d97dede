"""Replaying every position, against reading and writing back the same rows.

`python -m tests.benchmarks.replay [POSITIONS]`; the tests counted are ten times as many.
"""

import sys

from fleet import ledger
from fleet.models import DueLine, Installation, ObligationSpan, ServiceEvent
from tests.benchmarks import plant
from tests.benchmarks.bench import compare, once, scratch, undone

LIMIT = 3


def read_and_write_back() -> None:
    """The same rows, read as the replay must and written as it does, with no arithmetic."""
    list(ServiceEvent.objects.all())
    list(Installation.objects.all())
    spans, lines = list(ObligationSpan.objects.all()), list(DueLine.objects.all())
    for row in [*spans, *lines]:
        row.pk = None
    DueLine.objects.all().delete()
    ObligationSpan.objects.bulk_create(spans, batch_size=plant.BATCH)
    DueLine.objects.bulk_create(lines, batch_size=plant.BATCH)


def main(count: int) -> bool:
    with scratch():
        positions = plant.grow(count, by=plant.person())
        ids = [position.pk for position in positions]
        taken = once(lambda: ledger.replay_positions(ids, at=plant.AT))
        again = once(lambda: ledger.replay_positions(ids, at=plant.AT))
        base = undone(read_and_write_back)
        rows = f"{ServiceEvent.objects.count()} events, {ObligationSpan.objects.count()} spans"
        print(f"{count} positions, {rows}; replayed again with nothing new: {again:.3f} s")
        return compare("replay", taken, "reading and writing back", base, LIMIT)


if __name__ == "__main__":
    sys.exit(not main(int(sys.argv[1]) if sys.argv[1:] else 20_000))
