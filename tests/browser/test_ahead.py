"""The workload ahead: the heaviest month in words, and any month reached by the keyboard alone."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.steps import look


@pytest.fixture(params=["page", "phone"])
def planner(request, signed_in) -> Page:
    page = request.getfixturevalue(request.param)
    signed_in(page, "planner")
    return page


def test_the_heaviest_month_is_read_first_and_a_month_opens_by_keyboard(planner):
    planner.goto("/outages/")
    planner.get_by_role("link", name="Workload ahead").click()
    expect(planner.locator("p.verdict").first).to_contain_text("The heaviest month is")
    look(planner)
    months = planner.locator(".months a")
    months.first.focus()
    planner.keyboard.press("Tab")
    said = planner.evaluate("document.activeElement.getAttribute('aria-label')")
    named = re.match(r"(\w{3} \d{4}): [\d.]+ h at the bench", said)
    assert named, said
    planner.keyboard.press("Enter")
    expect(planner.locator("h1")).to_contain_text(named[1])
    expect(planner.locator("table.list tbody tr").first.locator("a.tag")).to_be_visible()
    look(planner)


def test_the_months_scroll_in_a_frame_of_their_own(phone, signed_in):
    signed_in(phone, "auditor")
    phone.goto("/outages/ahead/?years=10")
    frame = phone.locator(".scroll", has=phone.locator("table.ahead")).first
    wide = frame.evaluate("node => [node.scrollWidth, node.clientWidth]")
    assert wide[0] > wide[1]
    assert phone.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
