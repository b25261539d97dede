"""What every journey over the bench does: open a job, go on, find what is about one setting."""

from playwright.sync_api import Locator, Page, expect


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
