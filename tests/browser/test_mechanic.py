"""The mechanic's first journey: what was it set to, and have I put it back exactly?

The devices are boiler valves of the demo plant, last overhauled in July 2026; the values they were
left at are read from the pages, as a mechanic reads them.
"""

import re

from playwright.sync_api import Page, expect

from inspections.demo.stories import STORIES
from tests.browser.bench import at, block, gloved, go_on, open_job, target
from tests.browser.steps import look


def test_the_bench_opens_on_the_jobs_and_is_made_for_gloves(person):
    page = person("mechanic")
    expect(page).to_have_url(re.compile("/bench/$"))
    look(page)
    gloved(page)
    page.watch.expected.append("422")
    page.get_by_label("Device or tag").fill("SV-0000")
    page.get_by_role("button", name="Open the job").click()
    expect(page.locator("main .errors")).to_contain_text("SV-0000")
    expect(page.get_by_label("Device or tag")).to_have_value("SV-0000")


def test_the_job_that_waits_is_verified_by_another_than_its_mechanic(person, held):
    """The story of the demo plant whose overhaul nobody has verified yet."""
    device = next(story.device for story in STORIES if story.key == "unverified")
    own = person("second")
    own.goto("/bench/")
    own.get_by_role("link", name=device).click()
    expect(own.get_by_role("heading", level=1)).to_contain_text(device)
    expect(own.locator("main aside")).to_contain_text("a second person verifies")
    expect(own.get_by_role("button", name=re.compile("^Verify"))).to_have_count(0)
    look(own)
    other = person("mechanic")
    other.goto(own.url)
    expect(other.get_by_role("button", name="Verify as Ines Farrant")).to_be_visible()


def test_a_job_goes_from_arrival_to_a_second_signature(person, held):
    tag, pop = {"page": ("SV-5112", "251 psig"), "phone": ("SV-5122", "256 psig")}[held]
    page = person("mechanic")
    open_job(page, tag)
    arrive(page)
    receive(page, pop)
    left = read_as_found(page)
    inspect(page)
    restore(page, left)
    leave(page, pop)
    sign(page)
    verify(person("second"), page.url, tag)


def arrive(page: Page) -> None:
    at(page, "Arrival")
    page.get_by_label("Seals as they came").fill("whole, VS-8841")
    page.get_by_label("Condition on arrival").fill("Dry, light scale on the outlet.")
    look(page)
    gloved(page)
    go_on(page)


def receive(page: Page, pop: str) -> None:
    """A pressure that is no number is told at its field, and stays as it was typed."""
    at(page, "As-received pop")
    page.watch.expected.append("422")  # the browser itself logs the answer's status
    page.get_by_label("Opened at").fill("21 1/2/3")
    page.get_by_label("Gauge", exact=True).fill("PG-114")
    go_on(page)
    at(page, "As-received pop")
    expect(block(page, "First pop")).to_contain_text("“21 1/2/3”: expected gauge pressure")
    expect(page.get_by_label("Opened at")).to_have_value("21 1/2/3")
    expect(page.get_by_label("Gauge", exact=True)).to_have_value("PG-114")
    look(page)
    page.get_by_label("Opened at").fill(pop)
    expect(block(page, "First pop").locator("output")).to_contain_text("in tolerance")
    page.get_by_label("Opened at").fill("9**9**9")
    expect(block(page, "First pop").locator("output")).to_contain_text("expected")
    page.get_by_label("Opened at").fill(pop)
    go_on(page)


def read_as_found(page: Page) -> list[str]:
    """Every setting before stripping; here they stood where they had been left."""
    at(page, "As found")
    look(page)
    settings = []
    for part in page.locator("section.target").all():
        setting = part.get_by_role("heading").inner_text().split(",")[0]
        part.locator(".entry input[type=text]").fill(part.locator(".where b").last.inner_text())
        settings.append(setting)
    go_on(page)
    return settings


def inspect(page: Page) -> None:
    at(page, "Inspect and repair")
    finding = page.locator("fieldset.finding").first
    for label, words in {
        "Part": "disc",
        "What was seen": "light scoring",
        "What was done": "lapped",
    }.items():
        finding.get_by_label(label).fill(words)
    page.get_by_label("Contact check 1").select_option(label="unbroken ring")
    look(page)
    gloved(page)
    go_on(page)


def restore(page: Page, settings: list[str]) -> None:
    """Compared while it is typed: equal, off by so much and which way, or no reading at all."""
    at(page, "Reassemble")
    look(page)
    gloved(page)
    ring = block(page, "Lower ring")
    notches = int(target(page, "Lower ring").replace("−", "-").split()[0])
    answers = {
        f"{notches}": "equal",
        f"{notches + 2}": "off by 2 notches (lower ring), above target",
        f"{notches - 1}": "off by 1 notch (lower ring), below target",
        "21 1/2/3": "not a reading yet",
    }
    for typed, words in answers.items():
        ring.locator(".entry input[type=text]").fill(typed)
        expect(ring.locator("output")).to_contain_text(words)
    go_on(page)
    at(page, "Reassemble")
    expect(ring.locator(".entry input[type=text]")).to_have_value("21 1/2/3")
    expect(ring).to_contain_text("“21 1/2/3”: expected")
    look(page)
    for setting in settings:
        part = block(page, setting)
        part.locator(".entry input[type=text]").fill(target(page, setting))
        expect(part.locator("output")).to_contain_text("equal")
    go_on(page)


def leave(page: Page, pop: str) -> None:
    at(page, "As-left pop")
    page.get_by_label("Opened at").fill(pop)
    expect(page.locator("output").first).to_contain_text("in tolerance")
    page.get_by_label("Where it goes").select_option(label="repaired")
    look(page)
    go_on(page)
    at(page, "Seal and sign")
    page.get_by_label("Seal", exact=False).first.fill("VS-9002")
    look(page)
    go_on(page)


def sign(page: Page) -> None:
    look(page)
    page.get_by_role("button", name="Sign as Ines Farrant").click()
    expect(page.locator("main [role=status]")).to_contain_text("Signed")
    expect(page.get_by_role("button", name=re.compile("^Verify"))).to_have_count(0)
    look(page)


def verify(page: Page, record: str, tag: str) -> None:
    """Another person; then the clock runs a year from the day of the work (NBIC NB-23 Part 4)."""
    page.goto(record)
    page.get_by_role("button", name="Verify as Tobias Okell").click()
    expect(page.locator("main [role=status]").first).to_contain_text("Verified and locked")
    look(page)
    page.get_by_role("link", name=tag, exact=True).first.click()
    owed = page.locator("table.list tbody tr", has_text="Bench test")
    expect(owed).to_contain_text("31 Oct 2027")
    expect(owed).to_contain_text("1 year after 31 Oct 2026")
