"""No photo taken at the bench is lost, or kept twice: network cut, page killed, server killed."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.bench import go_on, open_job
from tests.browser.conftest import QUIET
from tests.browser.mortal import Mortal, mortal
from tests.browser.steps import look, sign_in
from tests.browser.tablet import job_of, kept_pages, line, photo

TABLET = {"width": 820, "height": 1180, "has_touch": True}
BROKEN_OFF = ["INTERNET_DISCONNECTED", "CONNECTION_REFUSED", "EMPTY_RESPONSE", "CONNECTION_RESET"]
BROKEN_OFF += ["htmx:", "Failed to fetch", "status of 503"]


@pytest.fixture(scope="module")
def server(plant):
    with mortal(plant, "photos") as running:
        yield running


@pytest.fixture(scope="module")
def site(server: Mortal):
    return server.site


def take(page: Page, *pictures: dict) -> None:
    page.get_by_label("Or choose photos").set_input_files(list(pictures))


def photos(server: Mortal, job: int) -> int:
    [(count,)] = server.rows(f"SELECT count(*) FROM inspections_photo WHERE inspection_id = {job}")
    return count


def queued(page: Page):
    return page.locator("#photos .queue li")


def gallery(page: Page):
    return page.locator(".gallery img")


def test_a_photo_outlives_the_network_and_the_page(browser, chromium, server, tmp_path):
    """The profile is the tablet; it is closed over a photo that nobody has sent."""
    options = {"executable_path": chromium, "args": QUIET, "base_url": server.site.address}
    kind = browser.browser_type
    with kind.launch_persistent_context(tmp_path, **options) as one:
        page = one.pages[0]
        sign_in(page, "mechanic")
        open_job(page, "SV-5113")
        job = job_of(page)
        kept_pages(page)
        one.set_offline(True)
        take(page, photo("seat.jpg", "teal"), photo("large.jpg", "olive"))
        expect(queued(page)).to_have_count(2)
        expect(queued(page).first).to_contain_text("waits for the network")
    with kind.launch_persistent_context(tmp_path, **options) as one:
        one.set_offline(True)
        page = one.pages[0]
        page.goto(f"/bench/{job}/arrival/")
        expect(queued(page)).to_have_count(2)
        expect(line(page)).to_contain_text("2 photos wait to be sent")
        assert photos(server, job) == 0
        one.set_offline(False)
        expect(gallery(page)).to_have_count(2, timeout=25_000)
        expect(queued(page)).to_have_count(0)
        take(page, photo("again.jpg", "teal"))
        expect(page.locator("#photos [role=status]")).to_contain_text("here already")
    assert photos(server, job) == 2


def test_a_server_killed_in_the_midst_of_an_upload_has_it_once(open_page, signed_in, server):
    page = open_page(**TABLET)
    page.watch.expected += BROKEN_OFF
    signed_in(page, "mechanic")
    open_job(page, "SV-5123")
    job = job_of(page)
    kept_pages(page)
    with server.writing():
        take(page, photo("seat.jpg", "navy"))
        page.wait_for_timeout(1500)  # the upload now waits for its turn
        server.kill()
    expect(queued(page)).to_have_count(1)
    page.locator(".steps a").nth(1).click()  # kept on the tablet; says what waits elsewhere too
    expect(line(page)).to_contain_text("1 photo waits to be sent")
    server.start()
    expect(line(page)).not_to_contain_text("to be sent", timeout=40_000)
    assert photos(server, job) == 1


def test_what_is_refused_is_said_and_signing_out_asks_first(open_page, server):
    page = open_page(**TABLET)
    page.watch.expected += BROKEN_OFF
    sign_in(page, "mechanic")
    open_job(page, "PSV-5501")
    job = job_of(page)
    kept_pages(page)
    none = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b"no photo at all"}
    take(page, none, {**none, "name": "b.jpg", "buffer": b"0" * (20 * 1024 * 1024 + 1)})
    refused = page.locator("#photos .queue .refused")
    expect(refused).to_have_count(2)
    expect(refused.first).to_contain_text("whatever its name")
    expect(refused.last).to_contain_text("at most 20 MB")
    look(page)
    for _ in range(2):
        refused.first.get_by_role("button", name="Take it off this tablet").click()
    expect(refused).to_have_count(0)
    page.context.set_offline(True)
    take(page, photo("seat.jpg", "maroon"))
    expect(queued(page)).to_have_count(1)
    look(page)
    page.get_by_role("button", name="Sign out").click()
    expect(page.locator("#leaving")).to_contain_text("one thing waits")
    page.get_by_role("button", name="Stay signed in").click()
    server.lock(job)
    page.context.set_offline(False)
    expect(refused).to_contain_text("is locked", timeout=25_000)
    assert photos(server, job) == 0


FULL = """Object.defineProperty(IDBObjectStore.prototype, "add", {
  value() { throw new DOMException("full", "QuotaExceededError"); },
});"""


def test_a_full_tablet_says_so_and_sends_at_once(open_page, signed_in, server):
    page = open_page(**TABLET)
    signed_in(page, "mechanic")
    open_job(page, "PSV-5503")
    page.evaluate(FULL)
    page.route("**/photos/arrival/", lambda route: (page.wait_for_timeout(600), route.continue_()))
    take(page, photo("seat.jpg", "gray"))
    expect(page.locator("#photos")).to_contain_text("This tablet’s storage is full")
    expect(gallery(page)).to_have_count(1)
    go_on(page)
