"""The mechanic's first journey: what was it set to, and have I put it back exactly?

The devices are boiler valves of the demo plant, last overhauled in July 2026; the values they were
left at are read from the pages, as a mechanic reads them.
"""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from inspections.demo.stories import STORIES
from tests.browser.steps import look

WIDTHS = {"page": {}, "phone": {"width": 390, "height": 844, "has_touch": True, "is_mobile": True}}
GLOVE_PX = 44  # WCAG 2.2, 2.5.5 Target Size (Enhanced)


@pytest.fixture(params=list(WIDTHS))
def held(request) -> str:
    """What the site is held in."""
    return request.param


@pytest.fixture
def person(open_page, signed_in, held) -> Callable[[str], Page]:
    """A page of this person's own, on what this test is held in."""

    def arrives(username: str) -> Page:
        page = open_page(**WIDTHS[held])
        signed_in(page, username)
        return page

    return arrives


def open_job(page: Page, tag: str) -> None:
    page.goto("/bench/")
    page.get_by_label("Device or tag").fill(tag)
    page.get_by_label("What is to be done").select_option(label="overhaul")
    page.get_by_role("button", name="Open the job").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(tag)


def go_on(page: Page) -> None:
    page.locator("form.walk .go .btn").first.click()


def at(page: Page, step: str) -> None:
    expect(page.locator(".steps [aria-current=step]")).to_have_text(step)


def block(page: Page, setting: str) -> Locator:
    """The part of a step that is about one setting."""
    return page.locator("section.target", has=page.get_by_role("heading", name=setting))


def target(page: Page, setting: str) -> str:
    return block(page, setting).locator(".big").inner_text()


def gloved(page: Page) -> None:
    """Everything to press on the step is large enough for a gloved finger."""
    for box in page.locator(
        "main :is(button, input:not([type=hidden]), select, summary, .btn, .tag)"
    ).all():
        if box.is_visible():
            assert box.bounding_box()["height"] >= GLOVE_PX, box.evaluate("e => e.outerHTML")


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
    look(page)
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


def test_two_people_on_one_job_lose_nothing(person, held):
    tag = {"page": "SV-5113", "phone": "SV-5123"}[held]
    first, second = person("mechanic"), person("second")
    open_job(first, tag)
    second.goto(first.url)
    first.get_by_label("Seals as they came").fill("broken")
    first.get_by_label("Condition on arrival").fill("Wet, product in the bonnet.")
    first.get_by_role("button", name="Save and leave it here").click()
    second.watch.expected.append("409")
    second.get_by_label("Seals as they came").fill("whole, VS-8840")
    go_on(second)
    clash = second.get_by_role("alert")
    expect(clash).to_contain_text("broken")
    expect(clash).to_contain_text("whole, VS-8840")
    expect(second.get_by_label("Seals as they came")).to_have_value("whole, VS-8840")
    expect(second.get_by_label("Condition on arrival")).to_have_value("Wet, product in the bonnet.")
    look(second)
    go_on(second)
    first.goto(re.sub(r"[a-z_]+/$", "arrival/", second.url))
    expect(first.get_by_label("Seals as they came")).to_have_value("whole, VS-8840")
    expect(first.get_by_label("Condition on arrival")).to_have_value("Wet, product in the bonnet.")


def test_what_was_typed_outlives_the_session(person, held):
    """Signed out while typing: signing in brings it back, and nothing else was saved."""
    tag = {"page": "PSV-5501", "phone": "PSV-5503"}[held]
    page = person("mechanic")
    open_job(page, tag)
    job = page.url
    page.get_by_label("Condition on arrival").fill("Nameplate gone; it’s <b>stamped</b> 300.\nDry.")
    page.context.clear_cookies(name="sessionid")
    page.watch.expected.append("403")
    go_on(page)
    expect(page.locator("main")).to_contain_text("Nameplate gone")
    look(page)
    page.get_by_label("Username").fill("mechanic")
    page.get_by_label("Password").fill("wrong")
    page.get_by_role("button", name="Sign in").click()
    expect(page.locator("main")).to_contain_text("Nameplate gone")
    page.get_by_label("Username").fill("mechanic")
    page.get_by_label("Password").fill("lift-at-set")
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("button", name="Send it again").click()
    at(page, "As-received pop")
    page.goto(job)
    expect(page.get_by_label("Condition on arrival")).to_have_value(
        "Nameplate gone; it’s <b>stamped</b> 300.\nDry."
    )


def test_no_old_answer_stands_beside_a_changed_figure(person, held):
    """The network dies, then the session: each is said where the answer would have stood."""
    page = person("mechanic")
    open_job(page, {"page": "SV-5111", "phone": "SV-5121"}[held])
    page.goto(page.url.replace("arrival", "reassemble"))
    ring = block(page, "Lower ring")
    typed, answer = ring.locator(".entry input[type=text]"), ring.locator("output")
    typed.fill(target(page, "Lower ring"))
    expect(answer).to_contain_text("equal")
    page.watch.expected += ["INTERNET_DISCONNECTED", "htmx:", "401", "403"]
    page.context.set_offline(True)
    typed.fill("-3")
    expect(answer).to_contain_text("no answer from the site")
    page.context.set_offline(False)
    page.context.clear_cookies(name="sessionid")
    typed.fill("-33")
    expect(answer).to_contain_text("you were signed out")
    expect(typed).to_have_value("-33")
    look(page)
    go_on(page)
    expect(page.locator("main")).to_contain_text("-33")
