"""What was written honestly reads back without a difference, on both databases."""

from datetime import UTC, date
from decimal import Decimal

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import audit, ledger, locks
from fleet.actions import obligations, outages, plant
from fleet.models import AuditEntry, Device, Obligation, Outage, Unit, User
from fleet.reports import proof
from tests import factories
from tests.fleet.honest import NOON, audit_new, found, honest_event, honest_site, sql

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return honest_site()


@pytest.fixture
def event(site):
    return honest_event(site)


def test_a_row_that_went_honestly_is_no_difference(event):
    unit = Unit(site=event.site, name="Gas")
    audit_new(unit, event.recorded_by)
    key = unit.pk
    unit.delete()
    unit.pk = key
    changes = [audit.change("unit closed", event.site, gone=[unit])]
    audit.record(changes, by=event.recorded_by, at=NOON)
    assert found() == []


@pytest.mark.parametrize("model", proof.audited_models(), ids=lambda model: model.__name__)
def test_every_table_reads_back_as_it_was_written(model):
    """As typed in the factory (texts, naive decimals) and as the database gives it again."""
    factory = {f._meta.model: f for f in vars(factories).values() if hasattr(f, "_meta")}[model]
    row = factory()
    audit.record([audit.change("added", row)], by=factories.UserFactory(), at=NOON)
    said = [line for line in found() if f" {row._meta.db_table} {row.pk}:" in line]
    assert [line for line in said if not line.startswith("file:")] == []  # no factory writes files


@pytest.mark.parametrize("hours", ["4", "4.5", "4.50", "0.10", "9999.99"])
def test_decimals_read_back_as_they_were_written(hours):
    row = factories.JobHoursFactory(hours=hours)
    audit.record([audit.change("added", row)], by=factories.UserFactory(), at=NOON)
    assert [line for line in found() if "jobhours" in line] == []
    assert f'"{Decimal(hours):.2f}"' in AuditEntry.objects.get().after


def test_many_entries_at_once_are_chained_and_proved_in_a_bounded_number_of_queries(site):
    by = User.objects.get()
    units = [Unit(site=site, name=f"Unit {n:04}") for n in range(2500)]
    plant.add_mentioned(units, by=by, at=NOON)
    with CaptureQueriesContext(connection) as queries:
        assert found() == []
    tables = [q for q in queries if q["sql"].startswith(("SELECT DISTINCT", 'SELECT "'))]
    assert len(tables) < 2 * len(proof.audited_models()) + 12  # one for the keys, one a thousand


def test_a_composed_and_a_decomposed_name_are_the_same_name(site):
    audit_new(Unit(site=site, name="Mu\u0308hle"), User.objects.get())
    assert found() == []


def test_due_dates_are_checked_by_replay(event, capsys):
    call_command("check_due_dates")
    assert "1 positions replayed, 0 differences" in capsys.readouterr().out
    locks.lift(connection)
    sql("UPDATE fleet_obligationspan SET due_on = '2031-01-01' WHERE due_on IS NOT NULL")
    locks.lay(connection)
    with pytest.raises(SystemExit):
        call_command("check_due_dates")
    said = capsys.readouterr().out
    assert "stored, replay does not give it: due 2031-01-01" in said
    assert "replayed, not stored: due 2025-01-01" in said


def test_a_line_whose_day_has_come_is_renewed(event, settings):
    """A rule that ends next month: from that day on its line is stale, and no difference."""
    settings.FIXED_TODAY = date(2024, 6, 1)
    row = Obligation.objects.get()
    obligations.end([(row, date(2024, 7, 1))], by=event.recorded_by, at=NOON)
    ledger.replay_positions([row.position_id], at=NOON)
    assert row.position.due_lines.get().state == "dated"
    settings.FIXED_TODAY = date(2024, 7, 1)
    call_command("check_due_dates")
    assert row.position.due_lines.get().state == "no_obligation"


def test_an_outage_saved_again_is_no_difference(site):
    by, unit = User.objects.get(), Unit.objects.get()
    outage = Outage(site=site, name="2027", starts_on=date(2027, 5, 1), ends_on=date(2027, 6, 1))
    outages.save_outages([(outage, [unit])], by=by, at=NOON)
    outage.bench_hours = Decimal("120")
    outages.save_outages([(outage, [unit])], by=by, at=NOON.astimezone(UTC))
    assert found() == []


def test_a_device_saved_by_nobody_is_named(event):
    Device.objects.create(number="D-secret", kind="spring")
    pk = Device.objects.get(number="D-secret").pk
    assert found() == [f"row: fleet_device {pk}: is there, but no entry names it"]
