"""What every journey does: sign in; look at a page as an accessibility engine and a phone do."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from inspections.management.commands.demo import PASSWORD

WEIGHTY = ("serious", "critical")


def sign_in(page: Page, username: str, password: str = PASSWORD) -> None:
    """Sign in as one of the demo plant's people and land on their first page."""
    page.goto("/sign-in/")
    page.fill("input[name=username]", username)
    page.fill("input[name=password]", password)
    page.click("main button[type=submit]")
    page.wait_for_url(lambda url: "/sign-in/" not in url)


def axe_violations(page: Page, **options) -> list[str]:
    """Serious and critical violations as one line each: rule, element, why."""
    options["resultTypes"] = ["violations"]  # passes are neither listed nor paid for
    found = Axe().run(page, options=options).response["violations"]
    return [
        f"{rule['id']} ({rule['impact']}) at {' '.join(map(str, node['target']))}: {rule['help']}"
        for rule in found
        if rule["impact"] in WEIGHTY
        for node in rule["nodes"]
    ]


def axe_clean(page: Page, **options) -> None:
    found = axe_violations(page, **options)
    assert not found, f"{page.url}\n" + "\n".join(found)


def look(page: Page) -> None:
    """What no page may fail: it fits its window, and is clean by daylight and in the dark."""
    page.wait_for_load_state()
    fits(page)
    axe_clean(page)
    page.emulate_media(color_scheme="dark")  # changes colours alone
    axe_clean(page, runOnly=["color-contrast"])
    page.emulate_media(color_scheme="light")


def fits(page: Page) -> None:
    """Nothing but a table in its own frame may be scrolled sideways."""
    wide = page.evaluate(
        "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    assert wide <= 0, f"{page.url} is {wide} px too wide"
