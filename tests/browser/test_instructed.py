"""An engineer's instruction reaches the bench: signed on the device's page, restored to exactly.

The devices are of the demo plant; what they were left at is read from the pages.
"""

import re

from playwright.sync_api import Page, expect

from inspections.demo.instructed import DEVICE, VALUE
from tests.browser.bench import block, go_on, open_job, target
from tests.browser.steps import look

TAGS = {"page": "PSV-2301", "phone": "PSV-3401"}
RING = "Upper ring, restore to"


def sign(page: Page, tag: str, value: str) -> None:
    """From the search box to the signature."""
    page.goto(f"/search/?q={tag}")
    if "/positions/" not in page.url:
        page.locator("main a", has_text=tag).first.click()
    page.locator("main a[href^='/devices/']").first.click()
    page.get_by_role("link", name="Instruct a setting").click()
    page.get_by_role("link", name="Upper ring").click()
    page.watch.expected.append("422")
    page.get_by_label("To be set to").fill("5/0")
    page.get_by_label("Document").fill("manual, section 4")
    page.get_by_label("Why").fill("chatter")
    page.get_by_role("button", name=re.compile("^Sign it as")).click()
    expect(page.locator("main .errors").first).to_contain_text("“5/0”: expected")
    expect(page.get_by_label("Document")).to_have_value("manual, section 4")
    look(page)
    page.get_by_label("To be set to").fill(value)
    page.get_by_role("button", name=re.compile("^Sign it as")).click()
    expect(page.locator("main")).to_contain_text(f"Upper ring is to be {value}")
    look(page)


def test_what_an_engineer_signs_is_the_target_at_the_bench(person, held):
    sign(person("engineer"), TAGS[held], "-9 notches")
    bench = person("mechanic")
    open_job(bench, TAGS[held])
    bench.goto(re.sub("/arrival/.*$", "/reassemble/", bench.url))
    ring = block(bench, RING)
    assert target(bench, RING) == "-9 notches"
    expect(ring).to_contain_text("Last left at")
    expect(ring).to_contain_text("Raising the upper ring shortens blowdown.")
    ring.get_by_role("textbox").first.fill("-11")
    expect(ring.locator("output")).to_contain_text("off by 2 notches (upper ring), below target")
    ring.get_by_role("textbox").first.fill("-9")
    expect(ring.locator("output")).to_contain_text("equal")
    look(bench)
    go_on(bench)
    expect(block(bench, RING)).to_contain_text("How this was found is not written down")


def test_the_demo_s_instruction_and_threads_are_on_their_pages(person):
    page = person("engineer")
    page.goto(f"/search/?q={DEVICE}")
    if "/devices/" not in page.url:
        page.locator("main a", has_text=DEVICE).first.click()
    expect(page.locator("main")).to_contain_text(f"Upper ring: {VALUE}")
    page.locator("dl.facts a[href^='/models/']").click()
    expect(page.locator("main")).to_contain_text("0.00195 in a notch, 32 notches a turn")
    look(page)
    page.get_by_role("link", name="Change lower ring").click()
    look(page)
