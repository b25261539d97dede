"""The planner's second journey: the plan in force, a pin, a proposal compared and accepted."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.steps import look

PATIENCE_MS = 60_000  # a plan is worked out in the background
TAGS, OTHER = {"page": "PSV-5507", "phone": "PSV-5704"}, "Boiler house 2027"


@pytest.fixture
def planner(person) -> Page:
    return person("planner")


def open_plan(page: Page) -> None:
    page.goto("/plans/")
    look(page)
    in_force = page.locator("tr", has_text="in force").first
    in_force.get_by_role("link", name=re.compile(r"^Plan \d+$")).click()
    expect(page.get_by_role("heading", name=re.compile(r"^Plan \d+ "))).to_be_visible()


def open_line(page: Page, tag: str) -> None:
    page.locator("#ask_find").fill(tag)
    page.get_by_role("button", name="Show").click()
    page.get_by_role("link", name="Why, and what else").first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(tag)


def test_the_board_says_what_each_outage_takes_and_opens_its_lines(planner):
    open_plan(planner)
    look(planner)
    vessel = planner.locator("table.board a").first
    label = vessel.get_attribute("aria-label") or ""
    assert re.search(r"\d+ jobs?, [\d.]+ h of [\d.]+ h", label)
    vessel.focus()
    planner.keyboard.press("Enter")
    expect(planner).to_have_url(re.compile(r"outage=\d+"))


def test_a_pin_is_proposed_compared_and_put_in_force(planner, held):
    open_plan(planner)
    open_line(planner, TAGS[held])
    look(planner)
    row = planner.locator("tr", has_text=OTHER)
    row.locator("summary").click()
    row.get_by_role("textbox").fill("the crane stands there")
    row.get_by_role("button", name="Pin it here").click()
    expect(planner.get_by_text("The next proposal obeys it")).to_be_visible()
    planner.goto("/plans/")
    planner.get_by_role("button", name="Work it out").click()
    expect(planner.locator("#board")).to_be_visible(timeout=PATIENCE_MS)
    look(planner)
    planner.get_by_role("link", name="What it moves, and why").click()
    look(planner)
    expect(planner.locator("tr", has_text=TAGS[held])).to_contain_text(OTHER)
    planner.go_back()
    planner.get_by_role("button", name="Put it in force").click()
    expect(planner.get_by_text(re.compile(r"Plan \d+ is in force"))).to_be_visible()


def test_what_has_no_opportunity_leads_to_leave_with_its_day_filled_in(planner):
    open_plan(planner)
    open_line(planner, "PSV-5901")
    planner.get_by_role("link", name=re.compile("Ask for leave until")).first.click()
    expect(planner.locator("input[name=until_on]")).to_have_value("2027-07-05")


def test_an_auditor_reads_a_plan_and_changes_nothing(page, signed_in):
    signed_in(page, "auditor")
    open_plan(page)
    look(page)
    assert not page.get_by_role("button", name=re.compile("force|Propose|Discard")).count()
    open_line(page, "PSV-5508")
    assert not page.get_by_text("Pin or bar").count()
