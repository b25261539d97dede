"""Parts and photos in a browser: a figure judged as it is typed against an engineer's limit, the
loop of contact checks, photos sent beside what is being typed, the order of nuts. Figures invented.
"""

import re

from playwright.sync_api import Page, expect

from tests.browser.bench import at, go_on, open_job
from tests.browser.steps import look
from tests.browser.tablet import photo

KEPT = """async () => {
  const names = await caches.keys();
  const held = await Promise.all(names.map(async (name) => (await caches.open(name)).keys()));
  return held.flat().map((request) => new URL(request.url).pathname);
}"""
SIZES = {"page": ("SV-5112", "118.5 mm"), "phone": ("SV-5122", "119.5 mm")}


def limit(page: Page, height: str) -> None:
    """The engineer writes the limit down on the model's page, or changes it there."""
    look(page)
    change = page.get_by_role("link", name=re.compile("Change spring, free height", re.I))
    if change.count():
        change.click()
    else:
        page.get_by_role("link", name="Add a limit").click()
    page.get_by_label("Part").fill("spring")
    page.get_by_label("Measure").fill("free height")
    page.get_by_label("Not under").fill(height)
    page.get_by_label("Source").fill("maker's drawing 7, issue C")
    look(page)
    page.get_by_role("button", name="Keep this limit").click()
    expect(page.locator("main")).to_contain_text(height)


def test_parts_are_measured_checked_and_photographed(person, held):
    tag, height = SIZES[held]
    page = person("mechanic")
    open_job(page, tag)
    page.goto(re.sub(r"/arrival/$", "/inspect/", page.url))
    at(page, "Inspect and repair")
    step = page.url
    engineer = person("engineer")
    engineer.goto(page.get_by_role("link", name=re.compile("^Limits of")).get_attribute("href"))
    limit(engineer, height)
    page.reload()
    measure(page, height)
    photograph(page)
    go_on(page)
    page.goto(step)
    page.get_by_label("Contact check 2").select_option(label="unbroken ring")
    go_on(page)
    page.goto(step.replace("/inspect/", "/reassemble/"))
    page.get_by_label("How many nuts").fill("8")
    drawn = page.get_by_role("img", name=re.compile("^8 nuts numbered clockwise"))
    expect(drawn).to_be_visible()
    look(page)
    kept = page.evaluate(KEPT)  # what stays on the tablet, whoever is signed in
    assert kept and not [path for path in kept if path.startswith("/photos/")]


def measure(page: Page, height: str) -> None:
    spring = page.locator("section.figure", has=page.get_by_label("Spring, free height"))
    box, answer = spring.get_by_label("Spring, free height"), spring.locator("output")
    box.fill("118 mm")
    expect(answer).to_contain_text(f"under the low limit of {height}")
    box.fill("120 mm")
    expect(answer).to_contain_text("120 mm: within")


def photograph(page: Page) -> None:
    """A photo takes nothing along that is being typed; what is none is named."""
    page.get_by_label("Contact check 1").select_option(label="broken ring")
    note = page.get_by_label("Then what was done").first
    note.fill("lapped with 900 compound")
    page.get_by_label("Or choose photos").set_input_files(
        [photo("seat.jpg", "teal"), photo("disc.jpg", "maroon")]
    )
    expect(page.locator(".gallery img")).to_have_count(2)
    expect(note).to_have_value("lapped with 900 compound")
    none = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b"no photo at all"}
    page.get_by_label("Take a photo").set_input_files(none)
    expect(page.locator("#photos")).to_contain_text("whatever its name")
    look(page)
    page.watch.expected.append("ERR_INTERNET_DISCONNECTED|htmx:sendError")
    page.context.set_offline(True)
    page.get_by_label("Take a photo").set_input_files(photo("later.jpg", "olive"))
    expect(page.locator("#photos .queue .waits")).to_contain_text("waits for the network")
    page.context.set_offline(False)
    expect(page.locator(".gallery img")).to_have_count(3, timeout=25_000)
    page.once("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Take photo 2 away").click()
    expect(page.locator(".gallery img")).to_have_count(2)
