"""The steps of vents, discs and what is only looked at, as pages."""

from datetime import date

import pytest
from django.urls import reverse

from inspections.models import PopTest
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.views.bench.pages import send, stored, url

pytestmark = pytest.mark.django_db


def kind(shop, word):
    shop.device.kind = word
    shop.device.save()


def test_a_vacuum_is_typed_below_zero_and_kept_apart(shop, mechanic, job):
    kind(shop, "vent")
    page = send(mechanic, job, "vac_found", vacuum_pop="0.5 kPag")
    assert page.status_code == 422 and "a vacuum is below zero" in text(page)
    page = send(mechanic, job, "vac_found", vacuum_pop="-0.5 kPag")
    assert page.redirect_chain[-1][0] == url(job, "as_found")
    send(mechanic, job, "vac_left", vacuum_left="-2 mbarg")
    kept = {pop.stage: str(pop.pressure) for pop in PopTest.objects.filter(inspection=job)}
    assert kept == {"vac_found": "-0.5 kPag", "vac_left": "-2 mbarg"}
    said = mechanic.get(reverse("bench_judge", args=[job.pk, "vac_left"]), {"vacuum_left": "2 bar"})
    assert "presses outward" in text(said)
    assert "Vacuum as found" in text(mechanic.get(reverse("inspection", args=[job.pk])))


def test_a_disc_is_walked_without_a_pop(shop, mechanic, job):
    kind(shop, "rupture_disc")
    page = mechanic.get(url(job, "as_received"))
    assert page.url == url(job, "arrival")
    page = send(mechanic, job, "disc", **{"0-condition": "burst", "m_disc_lot-value": "L-1"})
    assert page.redirect_chain[-1][0] == url(job, "outcome")
    assert "is the disc that comes out" in text(page)
    found = [(f.part, f.condition, f.value) for f in stored(job).findings.all()]
    assert found == [("disc", "burst", ""), ("disc", "measured", "L-1")]
    page = send(mechanic, job, "outcome", disposition="replaced")
    assert page.redirect_chain[-1][0] == url(job, "seal")


def test_a_pilot_is_walked_in_its_own_words(shop, mechanic, job):
    kind(shop, "pilot")
    assert "The pop is the pilot’s" in text(mechanic.get(url(job, "as_received")))
    assert "vent the dome and drain the sensing line" in text(mechanic.get(url(job, "inspect")))
    assert "backflow preventer the right way" in text(mechanic.get(url(job, "as_left")))
    kind(shop, "spring")
    for step in ("as_received", "inspect", "as_left"):
        assert "pilot" not in text(mechanic.get(url(job, step)))


def test_a_pilot_that_opens_inward_too_is_asked_for_its_vacuum_side(shop, mechanic, job):
    kind(shop, "pilot")
    assert mechanic.get(url(job, "vac_found")).status_code == 302
    asked = {"set_pressure": "150 psig", "vacuum_set": "-0.5 kPag"}
    factories.PositionDutyFactory(position=shop.place, from_on=date(2023, 1, 1), **asked)
    assert "Vacuum side, as received" in text(mechanic.get(url(job, "vac_found")))
    page = text(mechanic.get(url(job, "as_received")))
    assert "The pop is the pilot’s" in page and "The vacuum side is popped on the next" in page
    assert "Vacuum left" in text(mechanic.get(reverse("bench_sign", args=[job.pk])))
