"""Outages and plans for tests of work packs."""

from datetime import UTC, date, datetime

from fleet.models import Plan, User
from fleet.reports.due import DueList
from inspections.papers import work_pack
from inspections.reports.work_pack import pack_of_outage
from tests import factories
from tests.inspections.papers.conftest import TODAY
from tests.inspections.papers.reading import sheets_of
from tests.inspections.shop import FITTED

STARTS, ENDS = date(2026, 5, 4), date(2026, 5, 20)
ACCEPTED = datetime(2024, 5, 30, 9, tzinfo=UTC)
PLANT = "https://relief.plant.example"


def outage_of(shop, **extra):
    units = extra.pop("units", [shop.place.unit])
    given = {"name": "Spring", "starts_on": STARTS, "ends_on": ENDS, "bench_hours": "100"} | extra
    row = factories.OutageFactory(site=shop.site, units=units, **given)
    row.refresh_from_db()
    return row


def another(shop, tag, *, unit=None, kind="spring", **duty):
    """Another position in the shop's unit, fitted and owing a bench test; what it owes."""
    place = shop.position(tag, **duty)
    place.unit = unit or shop.place.unit
    place.save()
    device = factories.DeviceFactory(site=shop.site, model=shop.model, kind=kind)
    shop.fit(device, place, FITTED)
    return shop.owe(place, "bench_test")


def accepted(shop, *lines, **columns) -> Plan:
    """A plan in force: `lines` are (obligation, columns)."""
    plan = factories.PlanFactory(site=shop.site, **columns)
    for owed, place in lines:
        factories.PlannedJobFactory(plan=plan, obligation=owed, **place)
    plan.accepted_at, plan.accepted_by = ACCEPTED, shop.second
    plan.save()
    return plan


def placed(outage, day=STARTS, **extra):
    return {"status": "placed", "outage": outage, "planned_on": day} | extra


def pack(shop, outage, on=None):
    user = User.objects.get(pk=shop.mechanic.pk)
    return pack_of_outage(outage, DueList(TODAY, user), on)


def paper(shop, outage, on=None) -> bytes:
    return work_pack.pdf(pack(shop, outage, on), PLANT)


def pages(raw) -> list[str]:
    return [" ".join(page.split()) for page in sheets_of(raw)]


def has(text, *pieces):
    missing = [piece for piece in pieces if piece not in text]
    assert not missing, f"{missing} not in {text}"
