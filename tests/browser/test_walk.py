"""A whole overhaul by keyboard alone and by touch alone, and what it asks of the hands.

The measure is paper: our own job sheet for the same job, which has a box for everything that the
record of an overhaul must hold (API RP 576 annex and NBIC NB-23 Part 4 forms list the same things;
from memory). Its boxes are counted in the printed PDF by a reader that is not ours.
"""

from io import BytesIO

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from tests.browser.bench import gloved, open_job
from tests.browser.hands import Fingers, Keyboard, overhaul
from tests.browser.steps import look
from tests.browser.tablet import job_of

# What the same job fills in by hand on that sheet: tag, seal, day, name, condition; the first pop
# and what it did; the gauge's four; four settings found and left; one contact check; the as-left
# pop; seal number, disposition, name, day. Spare rows and second initials are not counted.
FILLED = 5 + 2 + 4 + 8 + 1 + 1 + 4
TABLET = {"width": 820, "height": 1180, "has_touch": True, "is_mobile": True}
PHONE = {"width": 390, "height": 844, "has_touch": True, "is_mobile": True}


def arrived(open_page, signed_in, **held) -> Page:
    page = open_page(**held)
    signed_in(page, "mechanic")
    return page


def test_an_overhaul_by_keyboard_alone(open_page, signed_in):
    page = arrived(open_page, signed_in)
    overhaul(Keyboard(page), "SV-5111", "251 psig")


@pytest.mark.parametrize(("held", "tag"), [(TABLET, "SV-5112"), (PHONE, "SV-5122")])
def test_an_overhaul_by_touch_alone(open_page, signed_in, held, tag):
    page = arrived(open_page, signed_in, **held)
    overhaul(Fingers(page), tag, {"SV-5122": "256 psig"}.get(tag, "251 psig"))


def test_it_asks_for_less_than_paper_has_boxes(open_page, signed_in):
    """The second job of the day, so that the gauge is offered; nothing is filled in unasked."""
    page = arrived(open_page, signed_in, **TABLET)
    hands = Fingers(page)
    overhaul(hands, "SV-5121", "256 psig")
    assert hands.inputs < FILLED
    assert hands.inputs + hands.presses < FILLED + 2
    assert boxes(page) > FILLED


@pytest.mark.parametrize("held", [TABLET, PHONE], ids=["820", "390"])
def test_every_step_is_seen_and_pressed_with_gloves_on(open_page, signed_in, held):
    """By daylight and in the dark; contrast by the engine, size by our own rule."""
    page = arrived(open_page, signed_in, **held)
    open_job(page, {820: "PSV-5501", 390: "PSV-5503"}[held["width"]])
    steps = [link.get_attribute("href") for link in page.locator(".steps a").all()]
    for address in ["/bench/", "/bench/start/", *steps, f"/bench/{job_of(page)}/sign/"]:
        page.goto(address)
        look(page)
        gloved(page)


def boxes(page: Page) -> int:
    """Empty boxes on the job sheet of another job of the same model."""
    page.goto("/bench/")
    page.get_by_label("Device or tag").fill("SV-5123")
    page.get_by_role("button", name="Open the job").tap()
    expect(page.locator(".steps")).to_be_visible()
    answer = page.request.get(f"/bench/{job_of(page)}/sheet.pdf")
    reader = PdfReader(BytesIO(answer.body()))
    drawn = [sheet.get_contents().operations for sheet in reader.pages]
    return sum(operator == b"re" for operations in drawn for _, operator in operations)
