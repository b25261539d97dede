"""A small plant written through the actions alone, so that the chain says all of it."""

from datetime import date, datetime, timedelta, timezone
from decimal import Decimal

from django.db import connection

from fleet import audit, ledger
from fleet.actions import installations, obligations, people, plant, positions
from fleet.models import (
    Installation,
    Obligation,
    Position,
    PositionDuty,
    ServiceEvent,
    Site,
    Unit,
    User,
)
from fleet.reports import proof
from tests import factories

NOON = datetime(2024, 6, 1, 12, 0, 0, 123456, tzinfo=timezone(timedelta(hours=2)))


def sql(statement, *parameters):
    with connection.cursor() as cursor:
        cursor.execute(statement, parameters)


def found():
    return [str(difference) for difference in proof.differences()]


def honest_site() -> Site:
    """A site with one position."""
    by = people.command_line_user(at=NOON)
    row = Site(name="Ölwerk")
    plant.add_mentioned([row], by=by, at=NOON)
    unit = Unit(site=row, name="Crude")
    plant.add_mentioned([unit], by=by, at=NOON)
    place = Position(site=row, in_service_on=date(1999, 12, 31))
    duty = PositionDuty(position=place, tag="PSV-1", unit=unit, status="in_service")
    duty.set_pressure = PositionDuty._meta.get_field("set_pressure").to_python("150 psig")
    duty.temperature_multiplier = Decimal("1.02")
    positions.add_positions([duty], by=by, at=NOON)
    return row


def honest_event(site) -> ServiceEvent:
    """A device fitted at that position, an obligation there and a counted event."""
    by, place = User.objects.get(), Position.objects.get()
    device = factories.DeviceFactory.build(site=site, model=None, nameplate_set="10.3 barg")
    audit_new(device, by)
    installations.fit(
        [Installation(position=place, device=device, installed_on=date(2020, 2, 29))],
        by=by,
        at=NOON,
    )
    rule = factories.IntervalRuleFactory.build(recorded_by=by)
    audit_new(rule, by)
    obligations.owe([Obligation(position=place, activity="bench_test", rule=rule)], by=by, at=NOON)
    [row] = ledger.record(
        [
            ServiceEvent(
                site=site,
                device=device,
                activity="bench_test",
                done_on=date(2020, 1, 1),
                ref="R1",
                as_found_percent=Decimal("-4.43"),
            )
        ],
        by=by,
        at=NOON,
    )
    return row


def audit_new(row, by):
    row.save()
    audit.record([audit.change("added", row)], by=by, at=NOON)
