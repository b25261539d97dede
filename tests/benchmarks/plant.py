"""A big invented plant, written as rows: one device and one obligation a position."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

from fleet import models as fleet

AT = datetime(2026, 10, 31, 12, tzinfo=UTC)
POSITIONS_A_UNIT = 500
FIRST_DAY = date(2006, 1, 1)
BATCH = 5000


def person() -> fleet.User:
    return fleet.User.objects.create_user("bench", name="Bench")


def grow(
    count: int, *, by: fleet.User, tests_each: int = 10, owed: bool = True
) -> list[fleet.Position]:
    """`count` positions with `tests_each` counted tests on each device. Nothing is replayed.

    owed: each owes a test under one rule; otherwise nothing yet.
    """
    site = fleet.Site.objects.create(name=f"Plant of {count}")
    units = fleet.Unit.objects.bulk_create(
        fleet.Unit(site=site, name=f"Unit {number}")
        for number in range(-(-count // POSITIONS_A_UNIT))
    )
    positions = fleet.Position.objects.bulk_create(
        (
            fleet.Position(
                site=site,
                unit=units[number // POSITIONS_A_UNIT],
                tag=f"PSV-{count}-{number:06}",
                status="in_service",
                set_kpag="1034.213593",
            )
            for number in range(count)
        ),
        batch_size=BATCH,
    )
    devices = fleet.Device.objects.bulk_create(
        (
            fleet.Device(site=site, number=f"D-{count}-{number:06}", kind="spring")
            for number in range(count)
        ),
        batch_size=BATCH,
    )
    _fit(positions, devices, by)
    if owed:
        _owe(positions, by)
    fleet.ServiceEvent.objects.bulk_create(_tests(devices, tests_each, by), batch_size=BATCH)
    return positions


def _fit(positions, devices, by) -> None:
    stamps = {"recorded_at": AT, "recorded_by": by}
    fleet.Installation.objects.bulk_create(
        (
            fleet.Installation(position=place, device=device, installed_on=FIRST_DAY, **stamps)
            for place, device in zip(positions, devices, strict=True)
        ),
        batch_size=BATCH,
    )


def _owe(positions, by) -> None:
    stamps = {"recorded_at": AT, "recorded_by": by}
    rule, _ = fleet.IntervalRule.objects.get_or_create(
        code="bench-rule",
        defaults={"kind": "max_gap", "parameters": {"gap": "P2Y"}, "citation": "own", **stamps},
    )
    fleet.Obligation.objects.bulk_create(
        (
            fleet.Obligation(position=place, activity="bench_test", rule=rule, **stamps)
            for place in positions
        ),
        batch_size=BATCH,
    )


def _tests(devices, tests_each: int, by) -> Iterator[fleet.ServiceEvent]:
    """Spread over the years, a little different for each device."""
    for number, device in enumerate(devices):
        for turn in range(tests_each):
            yield fleet.ServiceEvent(
                site_id=device.site_id,
                device=device,
                activity="bench_test",
                done_on=FIRST_DAY + timedelta(days=60 + turn * 720 + number % 360),
                ref=f"{device.number}-{turn}",
                recorded_at=AT,
                recorded_by=by,
            )
