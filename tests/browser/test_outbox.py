"""Nothing typed at the bench is lost: the network cut, the page killed, the server killed."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.bench import at, block, go_on, open_job
from tests.browser.conftest import QUIET
from tests.browser.mortal import Mortal, mortal
from tests.browser.steps import look, sign_in
from tests.browser.tablet import job_of, kept, kept_pages, line

BROKEN_OFF = ["INTERNET_DISCONNECTED", "CONNECTION_REFUSED", "EMPTY_RESPONSE", "CONNECTION_RESET"]
BROKEN_OFF += ["htmx:", "Failed to fetch", "status of 503"]
TABLET = {"width": 820, "height": 1180, "has_touch": True}


@pytest.fixture(scope="module")
def server(plant):
    with mortal(plant, "outbox") as running:
        yield running


@pytest.fixture(scope="module")
def site(server: Mortal):
    return server.site


@pytest.fixture
def tablet(open_page, signed_in):
    def arrives(username: str = "mechanic", *, anew: bool = False) -> Page:
        page = open_page(**TABLET)
        page.watch.expected += BROKEN_OFF
        (sign_in if anew else signed_in)(page, username)
        return page

    return arrives


def edits(server: Mortal, job: int) -> list[tuple]:
    """What was typed, in the order in which it came: (step, field, words)."""
    return server.rows(
        "SELECT step, field, typed FROM inspections_fieldedit"
        f" WHERE inspection_id = {job} AND typed_at IS NOT NULL ORDER BY id"
    )


def test_an_hour_without_the_network_loses_nothing_and_doubles_nothing(tablet, server):
    page = tablet()
    open_job(page, "SV-5112")
    job = job_of(page)
    kept_pages(page)
    page.get_by_label("Seals as they came").fill("whole, VS-88")
    kept(page)
    page.context.set_offline(True)
    walk_on_offline(page)
    page.context.set_offline(False)
    expect(page.locator(".beside.unsaved")).to_have_count(0, timeout=40_000)
    expect(page.get_by_label("Condition on arrival")).to_have_value("Dry,\nlight scale.")
    expect(line(page)).not_to_contain_text("to be saved")
    saved = f"SELECT seal_found, remarks, version FROM inspections_inspection WHERE id = {job}"
    assert server.rows(saved) == [("whole, VS-8841", "Dry,\r\nlight scale.", 3)]
    pops = f"SELECT stage, pressure FROM inspections_poptest WHERE inspection_id = {job}"
    assert server.rows(pops) == [("as_found", "251 psig")]
    typed = edits(server, job)
    assert len(typed) == len(set(typed))
    assert ("as_found", "lower_ring", "-7") in typed
    other = tablet("second")
    other.goto(page.url.replace("arrival", "as_found"))
    expect(block(other, "Lower ring")).to_contain_text("Ines Farrant")
    expect(block(other, "Lower ring")).to_contain_text("“-7”")


def walk_on_offline(page: Page) -> None:
    """Two steps saved, a third begun, and back to the first, which shows what was typed."""
    page.get_by_label("Seals as they came").fill("whole, VS-8841")
    page.get_by_label("Condition on arrival").fill("Dry,\nlight scale.")
    expect(line(page)).to_contain_text(
        re.compile(r"Kept on this tablet; the server has not answered since \d\d:\d\d")
    )
    look(page)
    go_on(page)
    at(page, "As-received pop")
    expect(line(page)).to_contain_text("1 step waits to be saved")
    page.get_by_label("Opened at").fill("251 psig")
    go_on(page)
    at(page, "As found")
    block(page, "Lower ring").locator(".entry input[type=text]").fill("-7")
    page.wait_for_timeout(3000)  # an hour, as far as anything here can tell
    page.locator(".steps").get_by_role("link", name="Arrival").click()
    expect(page.get_by_label("Seals as they came")).to_have_value("whole, VS-8841")
    expect(page.get_by_label("Condition on arrival")).to_have_value("Dry,\nlight scale.")
    expect(page.locator(".beside.unsaved")).to_have_count(2)
    look(page)


def test_a_tablet_that_dies_while_typing_loses_nothing(browser, chromium, server, tmp_path):
    """The profile is the tablet; the page is closed over what nobody saved, without a network."""
    options = {"executable_path": chromium, "args": QUIET}
    kind = browser.browser_type
    with kind.launch_persistent_context(tmp_path, base_url=server.site.address, **options) as one:
        page = one.pages[0]
        sign_in(page, "mechanic")
        open_job(page, "SV-5113")
        job = job_of(page)
        kept_pages(page)
        page.get_by_label("Seals as they came").fill("cut")
        kept(page)
        one.set_offline(True)
        page.get_by_label("Condition on arrival").press_sequentially(
            "Wet, product in the bonn", delay=30
        )
        page.wait_for_timeout(200)
    with kind.launch_persistent_context(tmp_path, base_url=server.site.address, **options) as one:
        one.set_offline(True)
        page = one.pages[0]
        page.goto(f"/bench/{job}/arrival/")
        expect(page.get_by_label("Condition on arrival")).to_have_value("Wet, product in the bonn")
        expect(page.get_by_label("Seals as they came")).to_have_value("cut")
        expect(page.locator(".beside.unsaved")).to_have_count(2)
        one.set_offline(False)
        kept(page)
        page.get_by_label("Condition on arrival").press_sequentially("et")
        page.locator("#unsaved-seal_found").get_by_role("button", name="Drop it").click()
        expect(page.get_by_label("Seals as they came")).to_have_value("")
        go_on(page)
        at(page, "As-received pop")
    saved = f"SELECT seal_found, remarks FROM inspections_inspection WHERE id = {job}"
    assert server.rows(saved) == [("", "Wet, product in the bonnet")]


def test_a_server_killed_in_the_midst_of_a_save_loses_nothing(tablet, server):
    page = tablet()
    open_job(page, "SV-5123")
    job = job_of(page)
    kept_pages(page)
    page.get_by_label("Seals as they came").fill("broken")
    kept(page)
    with server.writing():
        page.get_by_label("Condition on arrival").fill("Product in the bonnet.")
        page.locator("form.walk .go .btn").first.click(no_wait_after=True)
        page.wait_for_timeout(1500)  # the save now waits for its turn
        server.kill()
    at(page, "As-received pop")
    expect(line(page)).to_contain_text("1 step waits to be saved")
    page.get_by_label("Gauge", exact=True).fill("PG-114")
    server.start()
    kept(page)
    expect(line(page)).not_to_contain_text("to be saved", timeout=40_000)
    saved = f"SELECT seal_found, remarks, version FROM inspections_inspection WHERE id = {job}"
    assert server.rows(saved) == [("broken", "Product in the bonnet.", 2)]
    typed = edits(server, job)
    assert len(typed) == len(set(typed))
    go_on(page)
    at(page, "As found")
    gauge = f"SELECT gauge FROM inspections_inspection WHERE id = {job}"
    assert server.rows(gauge) == [("PG-114",)]


def test_two_people_see_what_the_other_types_and_a_conflict_field_by_field(tablet, server):
    first, second = tablet(), tablet("second")
    open_job(first, "SV-5111")
    second.goto(first.url)
    first.get_by_label("Seals as they came").fill("broken")
    beside = second.locator(".beside.typing")
    expect(beside).to_have_text("Ines Farrant is typing “broken”", timeout=25_000)
    look(second)
    second.watch.expected.append("409")
    second.get_by_label("Seals as they came").fill("whole")
    kept(second)
    go_on(first)
    at(first, "As-received pop")
    expect(beside).to_have_count(0, timeout=25_000)
    expect(line(second)).to_contain_text("Somebody has saved this job", timeout=25_000)
    second.reload()  # what is stored and what was typed both show
    mark = second.locator("#unsaved-seal_found")
    expect(mark).to_contain_text("You typed “whole” and did not save it; what is saved is “broken”")
    expect(second.get_by_label("Seals as they came")).to_have_value("broken")
    look(second)
    mark.get_by_role("button", name="Use mine").click()
    expect(second.get_by_label("Seals as they came")).to_have_value("whole")
    go_on(second)
    at(second, "As-received pop")
    job = job_of(first)
    saved = f"SELECT seal_found FROM inspections_inspection WHERE id = {job}"
    assert server.rows(saved) == [("whole",)]


def test_what_is_typed_after_the_session_ended_waits_for_its_writer(tablet):
    page = tablet()
    page.watch.expected += ["401", "403"]  # the page asks while it is signed out
    open_job(page, "PSV-5501")
    job = page.url
    page.context.clear_cookies(name="sessionid")
    page.get_by_label("Condition on arrival").fill("Nameplate gone.")
    expect(line(page)).to_contain_text("you are signed out", timeout=25_000)
    look(page)
    sign_in(page, "second")  # somebody else first: neither sends it nor sees it
    page.goto(job)
    expect(line(page)).to_contain_text("Whatever you type")
    expect(page.get_by_label("Condition on arrival")).to_have_value("")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(re.compile("sign-in"))
    sign_in(page, "mechanic")
    page.goto(job)
    expect(page.get_by_label("Condition on arrival")).to_have_value("Nameplate gone.")
    kept(page)


def test_signing_out_with_something_unsent_asks_first(tablet):
    page = tablet(anew=True)
    open_job(page, "PSV-5503")
    kept_pages(page)
    page.context.set_offline(True)
    page.get_by_label("Condition on arrival").fill("Dented.")
    expect(line(page)).to_contain_text("Kept on this tablet")
    page.get_by_role("button", name="Sign out").click()
    ask = page.locator("#leaving")
    expect(ask).to_contain_text("has reached the server: one thing waits")
    look(page)
    ask.get_by_role("button", name="Stay signed in").click()
    expect(ask).to_be_hidden()
    page.context.set_offline(False)
    kept(page)
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(re.compile("sign-in"))
    held = "async () => (await caches.keys()).filter((name) => name.startsWith('bench-pages-'))"
    assert page.evaluate(held) == []


def test_what_was_typed_for_a_record_that_was_locked_is_given_back(tablet, server):
    page = tablet()
    page.watch.expected += ["409", "404"]
    open_job(page, "SV-5122")
    kept_pages(page)
    page.context.set_offline(True)
    page.get_by_label("Condition on arrival").fill("Too late.")
    go_on(page)
    at(page, "As-received pop")
    server.lock(job_of(page))
    page.context.set_offline(False)
    left = page.locator("#kept .left")
    expect(left).to_contain_text("Too late.", timeout=25_000)
    expect(left).to_contain_text("the record is locked")
    page.goto("/bench/")
    expect(left).to_contain_text("Condition on arrival: Too late.")
    look(page)
    left.get_by_role("button", name="I have it").click()
    expect(left).not_to_contain_text("Too late.")


def test_a_clock_that_is_wrong_is_said(tablet):
    page = tablet()
    wrong = "const now = Date.now; Date.now = () => now() + 37 * 60000;"
    page.context.add_init_script(wrong)
    open_job(page, "SV-5121")
    expect(line(page)).to_contain_text("This tablet’s clock is 37 minutes fast", timeout=20_000)


def test_an_address_that_is_not_secure_keeps_to_the_open_page_and_says_so(tablet):
    page = tablet()
    page.context.add_init_script(
        "Object.defineProperty(window, 'isSecureContext', {value: false});"
    )
    open_job(page, "PSV-5502")
    expect(line(page)).to_contain_text("This address is not secure")
    page.get_by_label("Condition on arrival").fill("Rusty.")
    page.context.set_offline(True)
    go_on(page)
    expect(line(page)).to_contain_text("Kept on this tablet; the server has not answered")
    at(page, "Arrival")
    page.context.set_offline(False)
    kept(page)
    go_on(page)
    at(page, "As-received pop")
