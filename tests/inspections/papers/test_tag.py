"""The hand-tag: small, exact for the day it is printed, and a phone opens its page.

The code is read off the drawn sheet by an independent decoder (ZXing), not out of our own matrix.
"""

from datetime import date

import pytest
from django.urls import reverse

from fleet.reports.due import DueList
from inspections.actions.start import correct
from inspections.models import Inspection
from inspections.papers import tag
from inspections.reports.hand_tag import HandTag, hand_tag_of, why_no_tag
from inspections.views.papers import device_address
from tests import factories
from tests.inspections.papers.conftest import TODAY, read
from tests.inspections.papers.reading import codes_on, said, size_mm
from tests.inspections.shop import AT
from tests.inspections.views.bench.pages import client_of

pytestmark = pytest.mark.django_db
PLANT = "https://relief.plant.example"


def address(record) -> str:
    return reverse("inspection_tag", args=[record.pk])


def refused(client, record) -> str:
    answer = client.get(address(record))
    assert answer.status_code == 404
    return " ".join(answer.content.decode().split())


def test_it_is_ninety_by_fifty_and_says_what_hangs_there(shop, locked, mechanic):
    paper = mechanic.get(address(locked)).content
    assert size_mm(paper) == (90.0, 50.0)
    text = said(paper)
    line = shop.due()
    for piece in ("D-1", "PSV-1", "150 psig", "S-201", "20 May 2024", "Tested on", "Due by",
                  "overhaul", "as known on 1 Jun 2024", locked.ref):  # fmt: skip
        assert piece in text, piece
    assert line.due_on and f"{line.due_on.day} May {line.due_on.year}" in text


def test_two_makings_are_equal(locked, mechanic):
    assert mechanic.get(address(locked)).content == mechanic.get(address(locked)).content


def test_the_code_opens_the_page_at_the_public_address(locked, mechanic, settings):
    settings.PUBLIC_URL = PLANT + "/"
    paper = mechanic.get(address(locked)).content
    assert codes_on(paper) == [f"{PLANT}/devices/{locked.device_id}/"]


def test_without_one_it_opens_where_the_reader_is(locked, mechanic):
    paper = mechanic.get(address(locked)).content
    [code] = codes_on(paper)
    assert code == f"http://testserver/devices/{locked.device_id}/"
    assert mechanic.get(code).status_code == 200


@pytest.mark.parametrize("dots_an_inch", [110, 203, 300, 600])
def test_the_code_is_read_at_the_finesse_of_any_label_printer(locked, mechanic, dots_an_inch):
    """203 and 300 dots an inch are what label printers have (common practice)."""
    paper = mechanic.get(address(locked)).content
    assert len(codes_on(paper, dots_an_inch)) == 1


def test_a_long_public_address_is_read_too(locked, rf, settings, shop):
    settings.PUBLIC_URL = "https://" + "very-long-host-name." * 8 + "example/relief/fleet"
    said_of = hand_tag_of(Inspection.objects.get(pk=locked.pk), DueList(TODAY, shop.mechanic))
    where = device_address(rf.get("/"), locked.device_id)
    assert codes_on(tag.pdf(said_of, where)) == [where]


def test_the_due_date_is_that_of_the_day(locked, mechanic, settings):
    before = said(mechanic.get(address(locked)).content)
    settings.FIXED_TODAY = date(2035, 1, 2)
    after = said(mechanic.get(address(locked)).content)
    assert "as known on 2 Jan 2035" in after and "as known on 1 Jun 2024" in before


def test_what_is_owed_without_a_date_is_said_beside_the_date(shop, locked, mechanic):
    shop.owe(shop.place, "visual")
    text = said(mechanic.get(address(locked)).content)
    assert "20 May 2029 overhaul, visual inspection: no record" in text


def test_a_device_that_is_fitted_nowhere_has_no_date(shop, locked, mechanic):
    shop.remove(shop.device.installations.get(), date(2024, 5, 25))
    text = said(mechanic.get(address(locked)).content)
    assert "not fitted; from PSV-1" in text and "owed once it is fitted" in text


def test_an_open_record_has_none(job, mechanic):
    assert "it is not verified yet" in refused(mechanic, job)


def test_a_corrected_record_has_none_its_correction_has(shop, locked, mechanic):
    new = correct(locked, by=shop.mechanic, at=AT)
    shop.sign(new)
    shop.verify(new)
    assert f"it was corrected by record {new.ref}" in refused(mechanic, locked)
    assert mechanic.get(address(new)).status_code == 200


def test_a_device_tested_since_has_the_later_tag(shop, locked, mechanic):
    [earlier] = Inspection.objects.exclude(pk=locked.pk)
    assert f"tested since, by record {locked.ref}" in refused(mechanic, earlier)


def test_a_device_that_did_not_go_back_fit_has_none(shop, job, mechanic):
    record = shop.finish(job, left="160 psig", settings=read("5 notches", "5 notches"))
    assert "did not go back fit: the as-left pop is high" in refused(mechanic, record)
    page = mechanic.get(f"/inspections/{record.pk}/").content.decode()
    assert "No hand-tag: the device did not go back fit" in page and address(record) not in page


def test_pages_lead_to_it(locked, mechanic):
    for page in (f"/inspections/{locked.pk}/", f"/devices/{locked.device_id}/"):
        assert f'href="{address(locked)}"' in mechanic.get(page).content.decode()


@pytest.mark.parametrize("role", ["planner", "mechanic", "engineer", "auditor", "administrator"])
def test_every_role_of_the_site_prints_it_and_no_other_site_does(shop, locked, role):
    own = client_of(factories.MembershipFactory(site=shop.site, role=role).user)
    foreign = client_of(factories.MembershipFactory(role=role).user)
    assert own.get(address(locked)).status_code == 200
    assert foreign.get(address(locked)).status_code == 404


def test_long_and_hostile_names_stay_on_it_and_the_code_is_read(locked):
    device = locked.device
    device.number, device.serial = "<b>" + "W" * 77, "½" * 80
    locked.seal_left = "⅞ 中 " + "S" * 110
    said_of = HandTag(locked, TODAY, "P" * 80, "1" * 50 + " psig", "no date", "z " * 200)
    paper = tag.pdf(said_of, PLANT)
    text = said(paper)
    assert "<b>W" in text and "…" in text and "½½" in text and "⟨U+4E2D⟩" in text
    assert codes_on(paper) == [PLANT]
    assert why_no_tag(locked) == ""
