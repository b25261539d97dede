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
