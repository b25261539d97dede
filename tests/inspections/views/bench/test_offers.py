"""What one tap may type: a target in its own datum, the gauge of the same person's same day."""

import json
import re
from datetime import date

import pytest

from inspections.models import Inspection, Method
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.views.bench.pages import RING, client_of, send, url

pytestmark = pytest.mark.django_db

GAUGE = {"gauge": "PG-7", "gauge_range": "0 to 200 psig", "medium": "air"}


def offered(page) -> list[dict]:
    found = re.findall(r'data-fills="([^"]*)"', page.content.decode())
    return [json.loads(fills.replace("&quot;", '"')) for fills in found]


def test_a_target_is_offered_as_left_and_never_as_found(mechanic, job):
    assert offered(mechanic.get(url(job, "reassemble"))) == [{f"id_{RING}": "5 notches"}]
    assert offered(mechanic.get(url(job, "as_found"))) == []


def test_nothing_is_offered_where_the_target_is_counted_from_another_datum(shop, mechanic, job):
    shop.save(job, settings={(RING, "as_left"): "5 notches"})
    job.settings.update(datum="new nozzle", is_datum_typed=False)
    assert offered(mechanic.get(url(job, "reassemble"))) == []


def another(at, **columns) -> Inspection:
    device = factories.DeviceFactory(site=at.site)
    standard = {"done_on": date(2024, 5, 20), "recorded_by": at.mechanic, "device": device}
    return factories.InspectionFactory(**{"site": at.site} | standard | GAUGE | columns)


def test_the_gauge_of_the_same_persons_same_day_is_offered_and_not_filled_in(shop, mechanic, job):
    Inspection.objects.filter(pk=job.pk).update(done_on=date(2024, 5, 20))
    another(shop)
    page = mechanic.get(url(job, "as_received"))
    [fills] = offered(page)
    assert {box: typed for box, typed in fills.items() if typed} == {
        "id_gauge": "PG-7", "id_gauge_range": "0 to 200 psig", "id_medium": "air"
    }  # fmt: skip
    assert fills["id_gauge_accuracy"] == fills["id_gauge_due_on"] == ""  # not another gauge's
    assert 'value="PG-7"' not in text(page)


@pytest.mark.parametrize("other", ["day", "person", "none", "shop", "maker"])
def test_no_other_gauge_is_offered(shop, mechanic, job, other):
    Inspection.objects.filter(pk=job.pk).update(done_on=date(2024, 5, 20))
    different = {
        "day": {"done_on": date(2024, 5, 19)},
        "person": {"recorded_by": shop.second},
        "none": {"gauge": ""},
        "shop": {"shop": "Harrow Valves"},
        "maker": {"method": Method.MAKER},
    }
    another(shop, **different[other])
    assert offered(mechanic.get(url(job, "as_received"))) == []


def test_a_gauge_that_is_typed_is_not_offered_another(shop, mechanic, job):
    Inspection.objects.filter(pk=job.pk).update(done_on=date(2024, 5, 20))
    another(shop)
    send(mechanic, job, "as_received", gauge="PG-9")
    assert offered(mechanic.get(url(job, "as_received"))) == []


def test_nobody_is_offered_what_another_site_uses(shop, job):
    Inspection.objects.filter(pk=job.pk).update(done_on=date(2024, 5, 20))
    person = factories.MembershipFactory(site=shop.site, role="mechanic").user
    elsewhere = factories.SiteFactory()
    device = factories.DeviceFactory(site=elsewhere)
    another(shop, recorded_by=person, site=elsewhere, device=device)
    assert offered(client_of(person).get(url(job, "as_received"))) == []
