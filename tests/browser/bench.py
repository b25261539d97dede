"""What every journey over the bench does: open a job, go on, find what is about one setting."""

from playwright.sync_api import Locator, Page, expect

GLOVE_PX = 44  # WCAG 2.2, 2.5.5 Target Size (Enhanced)
SMALL = f"""boxes => boxes.filter(box => box.checkVisibility())
  .map(box => [box, (box.closest("label") ?? box).getBoundingClientRect()])
  .filter(([, at]) => at.height < {GLOVE_PX} || at.width < {GLOVE_PX})
  .map(([box]) => box.outerHTML.slice(0, 120))"""


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
    """Everything to press on the step is large enough for a gloved finger, both ways."""
    pressed = "main :is(a, button, input:not([type=hidden]), select, textarea, summary)"
    small = page.locator(pressed).evaluate_all(SMALL)
    assert not small, f"{page.url}\n" + "\n".join(small)
