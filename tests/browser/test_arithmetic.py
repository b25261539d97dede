"""The arithmetic of a device: on a phone one setting at a time, on paper and a wide page all."""

import re

import pytest
from playwright.sync_api import Page, expect

from inspections.demo.stories import STORIES
from tests.browser.steps import look

STORY = {story.key: story for story in STORIES}
HEIGHT = "document.documentElement.scrollHeight"


def opened(page: Page) -> list[str]:
    return [part.get_attribute("id") for part in page.locator("section:has(> .part[open])").all()]


@pytest.fixture
def arithmetic(request, signed_in):
    def on(width: str, part: str = "") -> Page:
        page = request.getfixturevalue(width)
        signed_in(page, "engineer")
        page.goto(f"/settings-review/?find={STORY['moved_rings'].device}")
        page.locator("table.list td.key a").first.click()
        link = page.get_by_role("link", name="The arithmetic of every setting")
        page.goto(link.get_attribute("href") + part)
        expect(page.get_by_role("heading", level=1)).to_contain_text("Arithmetic")
        return page

    return on


def test_a_phone_shows_one_setting_at_a_time_the_flagged_one_first(arithmetic):
    page = arithmetic("phone")
    expect(page.locator(".part[open]")).to_have_count(1)
    assert opened(page) == ["lower_ring"]
    look(page)
    page.get_by_role("link", name="Set pressure", exact=True).click()
    expect(page.locator("#set_pressure .part")).to_have_attribute("open", "")
    assert opened(page) == ["set_pressure"]
    page.locator("#lever_play summary").click()
    expect(page.locator("#lever_play .part")).to_have_attribute("open", "")
    assert opened(page) == ["lever_play"]
    expect(page.locator("#lever_play summary")).to_be_in_viewport()
    page.locator("#lever_play summary").click()
    expect(page.locator(".part[open]")).to_have_count(0)


def test_a_link_to_a_setting_opens_it(arithmetic):
    page = arithmetic("phone", "#upper_ring")
    expect(page.locator("#upper_ring .part")).to_have_attribute("open", "")
    expect(page.locator("#upper_ring summary")).to_be_in_viewport()
    assert opened(page) == ["upper_ring"]


def test_the_answer_of_a_row_is_in_sight_without_scrolling(arithmetic):
    page = arithmetic("phone")
    page.get_by_role("link", name="Set pressure", exact=True).click()
    box = page.locator("#set_pressure td.answer").first.bounding_box()
    assert box["x"] + box["width"] <= page.viewport_size["width"]


def test_paper_and_a_wide_page_have_every_setting(arithmetic):
    page = arithmetic("page")
    whole = page.locator(".part").count()
    expect(page.locator(".part[open]")).to_have_count(whole)
    phone = arithmetic("phone")
    phone.evaluate("dispatchEvent(new Event('beforeprint'))")
    expect(phone.locator(".part[open]")).to_have_count(whole)
    phone.evaluate("dispatchEvent(new Event('afterprint'))")
    expect(phone.locator(".part[open]")).to_have_count(1)
    phone.emulate_media(media="print")
    for name in ("set_pressure", "lower_ring", "lever_play"):
        expect(phone.locator(f"#{name} table").first).to_be_visible()
    expect(phone.get_by_text(re.compile("I looked at it")).first).to_be_hidden()
