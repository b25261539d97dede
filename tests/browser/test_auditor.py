"""The auditor's first journey: prove it, for that day; and change nothing."""

import csv
import re

import pytest
from playwright.sync_api import Page, expect

from inspections.demo.stories import STORIES
from tests.browser.steps import look

STORY = {story.key: story for story in STORIES}
PAST = "2026-06-30"


@pytest.fixture(params=["page", "phone"])
def auditor(request, signed_in) -> Page:
    page = request.getfixturevalue(request.param)
    signed_in(page, "auditor")
    return page


def test_a_past_day_is_listed_and_kept_as_a_file(auditor, tmp_path):
    expect(auditor).to_have_url(re.compile("/compliance/$"))
    look(auditor)
    auditor.get_by_label("As of", exact=False).first.fill(PAST)
    auditor.get_by_role("button", name="Show").click()
    expect(auditor.locator("p.lede")).to_contain_text("As of 30 June 2026")
    look(auditor)
    lines = int(auditor.locator("p.lede b").last.inner_text())
    with auditor.expect_download() as coming:
        auditor.get_by_role("link", name="CSV").click()
    path = tmp_path / coming.value.suggested_filename
    coming.value.save_as(path)
    assert PAST in path.name
    with path.open(encoding="utf-8-sig", newline="") as file:
        sheet = list(csv.DictReader(file))
    assert len(sheet) == lines
    by_tag = {(row["tag"], row["activity"]): row for row in sheet}
    boiler = by_tag[STORY["overdue"].tag, "in_place_test"]
    assert boiler["status"] != "overdue"  # due on 14 July: on that day it was not yet


def test_a_line_drills_to_its_record(auditor):
    auditor.goto("/compliance/?find=" + STORY["moved_rings"].tag)
    line = auditor.locator("table.list tbody tr", has_text="bench test")
    line.get_by_role("link", name=re.compile(r"W26-\d+")).click()
    expect(auditor.get_by_role("heading", level=1)).to_contain_text("Record W26-")
    expect(auditor.locator("p.lede")).to_contain_text("verified by")
    expect(auditor.locator("main table").first).to_contain_text("As found, first")
    look(auditor)


@pytest.mark.parametrize("held", ["page"])
@pytest.mark.parametrize(
    "address",
    ["/due/", "/outages/", "/bench/", "/settings-review/", "/register/", "/compliance/"],
)
def test_an_auditor_is_offered_nothing_to_change(held, address, request, signed_in):
    page = request.getfixturevalue(held)
    signed_in(page, "auditor")
    page.goto(address)
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    assert not page.locator("main form[method=post]").count()


@pytest.mark.parametrize("address", ["/outages/new/", "/import/", "/people/", "/bench/start/"])
def test_what_changes_things_is_refused_and_says_so(page, address, signed_in):
    page.watch.expected.append("403")
    signed_in(page, "auditor")
    answer = page.goto(address)
    assert answer.status == 403
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    look(page)


def test_a_record_offers_an_auditor_no_correction(auditor):
    auditor.goto("/search/?q=W26-0086")
    expect(auditor.get_by_role("heading", level=1)).to_contain_text("W26-0086")
    assert not auditor.locator("main form[method=post]").count()
