"""The engineer's first journey: which valves will not stay where we put them?"""

import re

import pytest
from playwright.sync_api import Page, expect

from inspections.demo.stories import STORIES
from tests.browser.steps import look

STORY = {story.key: story for story in STORIES}


@pytest.fixture(params=["page", "phone"])
def engineer(request, signed_in) -> Page:
    page = request.getfixturevalue(request.param)
    signed_in(page, "engineer")
    return page


def open_device(page: Page, number: str) -> None:
    page.goto(f"/settings-review/?find={number}")
    page.locator("table.list td.key a", has_text=number).first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(number)


def test_the_review_opens_on_what_is_flagged_with_its_reason(engineer):
    expect(engineer).to_have_url(re.compile("/settings-review/$"))
    first = engineer.locator("table.list tbody tr").first
    expect(first).to_contain_text(STORY["weakening_spring"].device)
    expect(first).to_contain_text("moved in service")
    expect(first).to_contain_text("and 2 before")
    expect(first.locator("svg").first).to_be_visible()
    for row in engineer.locator("table.list tbody tr").all():
        expect(row.locator("td.say")).not_to_be_empty()
    look(engineer)


def test_what_a_setting_shows_can_be_asked_for(engineer):
    engineer.locator(".tally a", has_text="datum changed").click()
    shown = engineer.locator("table.list tbody tr")
    expect(shown.filter(has_text=STORY["datum_machined"].device).first).to_be_visible()
    for row in shown.all():
        expect(row).to_contain_text("datum changed")


def test_a_mark_opens_its_record(engineer):
    open_device(engineer, STORY["moved_rings"].device)
    expect(engineer.locator("main aside").first).to_contain_text("reset repeatedly, lower ring")
    look(engineer)
    ring = engineer.locator("section", has=engineer.get_by_role("heading", name="Lower ring")).last
    mark = ring.get_by_role("link", name=re.compile(r"as left 8 Jul 2025.*notches"))
    mark.locator(".hit").click()
    expect(engineer.get_by_role("heading", level=1)).to_contain_text("Record")
    expect(engineer.locator("dl.facts").first).to_contain_text("8 July 2025")
    look(engineer)


def test_every_mark_is_reached_by_keyboard_and_says_what_it_is(engineer):
    open_device(engineer, STORY["weakening_spring"].device)
    marks = engineer.locator(".history svg a")
    for mark in (marks.first, marks.last):
        assert mark.get_attribute("aria-label")
    marks.first.focus()
    engineer.keyboard.press("Tab")
    focused = engineer.evaluate("document.activeElement.getAttribute('aria-label')")
    assert focused == marks.nth(1).get_attribute("aria-label")
    engineer.keyboard.press("Enter")
    expect(engineer.get_by_role("heading", level=1)).to_contain_text("Record")


def test_a_machined_datum_cuts_the_line_and_the_figures_say_so(engineer):
    open_device(engineer, STORY["datum_machined"].device)
    engineer.get_by_text("The same in figures").click()
    figures = engineer.locator(".history table", has_text="Lower ring")
    expect(figures).to_be_visible()
    expect(figures).to_contain_text("machined")
    look(engineer)


def test_a_device_without_a_job_starts_one_where_the_reader_may(engineer, signed_in, open_page):
    """An engineer reads; a mechanic opens the job from the same page."""
    open_device(engineer, STORY["sticking"].device)
    expect(engineer.get_by_role("link", name="Start a job")).to_have_count(0)
    mechanic = open_page()
    signed_in(mechanic, "mechanic")
    mechanic.goto(engineer.url)
    mechanic.get_by_role("link", name="Start a job").click()
    expect(mechanic.get_by_label("Device or tag")).to_have_value(STORY["sticking"].device)


def test_a_flag_s_arithmetic_is_open_and_its_answer_quiets_it(engineer):
    """The spring that weakens: its drift stands there, and is answered once for both screens."""
    number = STORY["weakening_spring"].device
    engineer.goto(f"/settings-review/?find={number}")
    engineer.get_by_role("link", name="The arithmetic").first.click()
    part = engineer.locator("#set_pressure")
    expect(part).to_contain_text("% a year over 11 movements")
    expect(part).to_contain_text("chance of a first pop out of tolerance")
    look(engineer)
    asking = part.locator(".note", has_text="sticking")
    trend = part.locator(".note", has_text="trending")
    expect(asking).to_have_count(0)
    if trend.get_by_role("button").count():
        trend.get_by_label("I looked at it, and found").fill("Spring changed at the next outage.")
        trend.get_by_role("button").click()
        expect(engineer.locator("main [role=status]").first).to_contain_text("quiet until")
    expect(trend).to_contain_text("Spring changed at the next outage.")


def test_how_it_is_judged_and_the_fleet_as_populations_are_shown(engineer):
    engineer.get_by_role("link", name="how they are judged").click()
    expect(engineer.get_by_role("heading", level=1)).to_contain_text("How settings are judged")
    look(engineer)
    engineer.goto("/settings-review/fleet/?by=model")
    expect(engineer.locator("table.list tbody tr").first).to_contain_text("95 % interval")
    look(engineer)
    engineer.get_by_role("button", name="Compare").click()
    expect(engineer.locator("main")).to_contain_text("Fisher’s exact test")
    look(engineer)
