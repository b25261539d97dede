"""The pages that no journey passes through, and the one for an address that leads nowhere."""

import pytest
from playwright.sync_api import expect

from tests.browser.steps import look

ADDRESSES = ("/register/", "/devices/", "/search/?q=PSV-11", "/search/", "/people/", "/nowhere/")


@pytest.mark.parametrize("held", ["page", "phone"])
def test_a_page_off_the_beaten_track_is_clean(held, request, signed_in):
    page = request.getfixturevalue(held)
    page.watch.expected.append("404")
    signed_in(page, "administrator")
    for address in ADDRESSES:
        page.goto(address)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        look(page)


LIBRARY = (
    *("/rules/", "/rules/api510-process/", "/rules/om-class1/", "/rules/us-49cfr230.50/?done=soon"),
    *("/tolerances/", "/tolerances/asme1/", "/rules/new/", "/rules/new/?kind=calendar"),
    *("/rules/api510-process/replace/", "/tolerances/asme8/replace/"),
)


@pytest.mark.parametrize("held", ["page", "phone"])
def test_the_rule_library_is_clean(held, request, signed_in):
    page = request.getfixturevalue(held)
    signed_in(page, "engineer")
    for address in LIBRARY:
        page.goto(address)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        look(page)


def test_a_rule_is_tried_on_days_of_one_s_own(phone, signed_in):
    """49 CFR 192.739(a): each calendar year, intervals not exceeding 15 months."""
    signed_in(phone, "planner")
    phone.goto("/rules/")
    phone.get_by_role("link", name="us-49cfr192.739", exact=True).click()
    phone.get_by_label("It was done on").fill("2024-09-30")
    phone.get_by_role("button", name="When is it due?").click()
    expect(phone.get_by_text("30 December 2025")).to_be_visible()
    drawing = phone.get_by_role("img", name="15 months, to 30 Dec 2025")
    expect(drawing).to_be_visible()
    look(phone)


@pytest.mark.parametrize("held", ["page", "phone"])
def test_what_an_outage_takes_along_is_clean(held, request, signed_in):
    page = request.getfixturevalue(held)
    signed_in(page, "planner")
    for along in ("Work pack", "Parts likely needed", "Pick list of spares"):
        page.goto("/outages/28/")
        page.get_by_role("link", name=along, exact=True).click()
        expect(page.get_by_role("heading", level=1)).to_contain_text(along)
        look(page)


def test_a_calendar_s_address_is_shown_once_and_then_revoked(phone, signed_in):
    signed_in(phone, "planner")
    phone.goto("/outages/")
    phone.get_by_role("link", name="Read them in a calendar").click()
    phone.get_by_role("button", name="Make an address").click()
    address = phone.locator("code").inner_text()
    look(phone)
    assert phone.request.get(address).text().startswith("BEGIN:VCALENDAR")
    phone.get_by_role("button", name="Revoke the address").click()
    expect(phone.locator("code")).to_have_count(0)
    look(phone)
    assert phone.request.get(address).status == 404
