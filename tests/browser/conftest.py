"""A real browser on the real site. A page that complains, or asks another host, fails its test."""

import os
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from tests.browser.served import Loaded, Site, loaded, served
from tests.browser.steps import sign_in

QUIET = [
    "--no-sandbox",  # the tests run as root
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
# The script's own word for a request whose page was left, or whose box was typed in again.
CUT_SHORT = r"htmx:(sendAbort|afterRequest)"
WIDTHS = {"page": {}, "phone": {"width": 390, "height": 844, "has_touch": True, "is_mobile": True}}
PICTURES = Path(__file__).resolve().parent.parent.parent / "test-results"


def pytest_collection_modifyitems(items):
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium() -> str:
    """Its path. REQUIRE_BROWSER: 1 = a machine without it fails, 0 = left to a run of its own."""
    if os.environ.get("REQUIRE_BROWSER") == "0":
        pytest.skip("the browser has a run of its own")
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        say = pytest.fail if os.environ.get("REQUIRE_BROWSER") == "1" else pytest.skip
        say("no Chromium on this machine (apt install chromium)")
    return path


@pytest.fixture(scope="session")
def plant(chromium: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Loaded]:
    """The demo plant, loaded once; asked for after Chromium, so that a skip costs nothing."""
    with loaded(tmp_path_factory.mktemp("site")) as database:
        yield database


@pytest.fixture(scope="module")
def site(plant: Loaded, request: pytest.FixtureRequest) -> Iterator[Site]:
    """The site on a fresh copy of the demo plant: what one file writes, no other file sees."""
    name = re.sub(r"\W", "_", request.module.__name__.rpartition(".")[2])
    with served(plant, name) as running:
        yield running


@pytest.fixture(scope="module")
def browser(chromium: str) -> Iterator[Browser]:
    # Closed with the file: while it is open, its event loop keeps Django off the database.
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=chromium, args=QUIET)
        yield running
        running.close()


@pytest.fixture(scope="module")
def sessions(site: Site) -> dict[str, list]:
    """{username: cookies} of who has signed in to this site already."""
    return {}


@pytest.fixture
def signed_in(sessions: dict[str, list]) -> Callable[[Page, str], None]:
    """Sign in once a file and person: a password takes its time to check."""

    def signs_in(page: Page, username: str) -> None:
        if username in sessions:
            page.context.add_cookies(sessions[username])
            page.goto("/")
        else:
            sign_in(page, username)
            sessions[username] = page.context.cookies()

    return signs_in


class Watch:
    """What the pages of one context did that no page may do.

    `expected`: patterns of complaints that the test provokes on purpose, e.g. "403".
    """

    def __init__(self, context: BrowserContext, address: str) -> None:
        self.address, self.seen, self.expected = address, [], []
        context.on("console", self._heard)
        context.on("weberror", lambda error: self.seen.append(f"script: {error.error}"))
        context.on("request", self._asked)

    def _heard(self, message) -> None:
        if message.type == "error" or "Content Security Policy" in message.text:
            self.seen.append(f"console: {message.text} {message.location.get('url', '')}")

    def _asked(self, request) -> None:
        inside = (f"{self.address}/", "data:", "blob:", "about:")
        if not request.url.startswith(inside):
            self.seen.append(f"another host: {request.url}")

    def complaints(self) -> list[str]:
        known = [*self.expected, CUT_SHORT]
        return [s for s in self.seen if not any(re.search(p, s) for p in known)]


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    report = yield
    if call.when == "call":
        item.failed_in_call = report.failed
    return report


@pytest.fixture
def open_page(browser: Browser, site: Site, request) -> Iterator[Callable[..., Page]]:
    """Open a page of its own context (a person of their own): `open_page(width, height, ...)`."""
    opened: list[tuple[BrowserContext, Watch]] = []

    def opens(width: int = 1440, height: int = 900, **options) -> Page:
        context = browser.new_context(
            base_url=site.address, viewport={"width": width, "height": height}, **options
        )
        context.set_default_timeout(15_000)
        watch = Watch(context, site.address)
        opened.append((context, watch))
        page = context.new_page()
        page.watch = watch
        return page

    yield opens
    for number, (context, _) in enumerate(opened):
        if getattr(request.node, "failed_in_call", False):
            for page in context.pages:
                page.screenshot(path=PICTURES / f"{request.node.name}-{number}.png", full_page=True)
        context.close()
    complaints = [line for _, watch in opened for line in watch.complaints()]
    assert not complaints, "\n".join(complaints)


@pytest.fixture
def page(open_page: Callable[..., Page]) -> Page:
    """A desk."""
    return open_page()


@pytest.fixture
def phone(open_page: Callable[..., Page]) -> Page:
    """A phone, or a tablet held with gloves on."""
    return open_page(390, 844, has_touch=True, is_mobile=True)


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
