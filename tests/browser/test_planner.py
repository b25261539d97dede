"""The planner's first journey: what is owed, by when, in which outage; and loading a workbook."""

import csv
import re
from datetime import date
from pathlib import Path

import pytest
import xlsxwriter
from playwright.sync_api import Page, expect

from inspections.demo.sheets import SITE
from inspections.demo.stories import STORIES
from tests.browser.steps import look

TAGS = {story.key: story.tag for story in STORIES}
PATIENCE_MS = 60_000  # a workbook is read in the background


@pytest.fixture(params=["page", "phone"])
def planner(request, signed_in) -> Page:
    page = request.getfixturevalue(request.param)
    signed_in(page, "planner")
    return page


def rows(page: Page) -> list[dict[str, str]]:
    """The list as it is shown, page after page: position, what it owes, its state."""
    found = []
    while True:
        for row in page.locator("table.list tbody tr").all():
            found.append(
                {
                    "tag": row.locator("td.key a.tag").inner_text(),
                    "activity": row.locator("td.owes").inner_text(),
                    "due_on": (row.locator("td time").all() or [None])[0],
                }
            )
            if found[-1]["due_on"] is not None:
                found[-1]["due_on"] = found[-1]["due_on"].get_attribute("datetime")
        onward = page.locator("nav.pages a[rel=next]")
        if not onward.count():
            return found
        onward.click()


def ask(page: Page, **choices: str) -> None:
    """Fill in the filter above the list, and show."""
    for name, choice in choices.items():
        page.locator(f"form.ask select[name={name}]").select_option(label=choice)
    page.get_by_role("button", name="Show").click()


def exported(page: Page, folder: Path) -> list[dict[str, str]]:
    with page.expect_download() as coming:
        page.get_by_role("link", name="CSV").click()
    path = folder / coming.value.suggested_filename
    coming.value.save_as(path)
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_the_due_list_answers_before_any_click(planner):
    """No click yet: how many, as of when, and what stands out."""
    expect(planner.locator("p.lede")).to_contain_text("As of 31 October 2026")
    figures = planner.locator(".tally a")
    expect(figures.filter(has_text="overdue")).to_be_visible()
    expect(figures.filter(has_text="no outage in time")).to_be_visible()
    shown = planner.locator("table.list tbody tr")
    expect(shown.filter(has_text=TAGS["deferred"]).first).to_contain_text("deferred to 21 Mar 2027")
    expect(shown.filter(has_text=TAGS["no_device"]).first).to_contain_text("no device fitted")
    expect(shown.filter(has_text=TAGS["no_obligation"])).to_contain_text("nothing")
    look(planner)


def test_a_filtered_list_sorts_and_exports_exactly_what_it_shows(planner, tmp_path):
    ask(planner, unit="Steam and Air", status="due soon")
    planner.locator("main").get_by_role("link", name=re.compile("^Due")).first.click()
    expect(planner).to_have_url(re.compile(r"sort=-due_on"))
    expect(planner.locator("select[name=unit]")).not_to_have_value("")
    shown = rows(planner)
    days = [row["due_on"] for row in shown]
    assert len(days) > 5
    assert days == sorted(days, reverse=True)
    look(planner)
    sheet = exported(planner, tmp_path)
    assert {row["unit"] for row in sheet} == {"Steam and Air"}
    assert {row["status"] for row in sheet} == {"due_soon"}
    assert [(row["tag"], row["due_on"]) for row in sheet] == [
        (row["tag"], row["due_on"]) for row in shown
    ]


def test_a_position_says_why(planner):
    planner.get_by_role("link", name=TAGS["overdue"], exact=True).first.click()
    expect(planner.get_by_role("heading", level=1)).to_contain_text(TAGS["overdue"])
    owed = planner.locator("table.list tbody tr", has_text="In-place test")
    expect(owed).to_contain_text("overdue")
    expect(owed).to_contain_text("1 year after 14 Jul 2025")
    expect(owed).to_contain_text("NBIC NB-23 Part 4")
    look(planner)


def test_what_no_outage_serves_in_time_is_a_list_of_its_own(planner):
    planner.locator(".tally a", has_text="no outage in time").click()
    expect(planner.locator(".tally a[aria-current=true]")).to_contain_text("no outage in time")
    expect(planner.locator("table.list tbody tr", has_text="none before due").first).to_be_visible()
    shown = [row["tag"] for row in rows(planner)]
    assert {TAGS["no_outage_in_time"], TAGS["fouled_waived"]} <= set(shown)
    count = int(planner.locator(".tally a[aria-current=true] b").inner_text())
    assert len(shown) == count
    look(planner)


def test_an_outage_shows_its_scope_and_what_moving_it_makes_late(planner, request):
    is_phone = "phone" in request.node.name
    name, tag = ("Tank farm 2027", "TRV-4210") if is_phone else ("Boiler house 2027", "SV-5122")
    planner.get_by_role("navigation", name="Main").get_by_role("link", name="Outages").click()
    look(planner)
    planner.locator("table.list td.key a", has_text=name).click()
    expect(planner.locator(".tally")).to_contain_text("in its scope")
    expect(planner.locator("table.list tbody tr", has_text=tag).first).to_be_visible()
    look(planner)
    planner.get_by_role("link", name="Change it").click()
    look(planner)
    begins, ends = planner.get_by_label("Begins"), planner.get_by_label("Ends")
    was = date.fromisoformat(begins.input_value())
    begins.fill(was.replace(year=was.year + 2).isoformat())  # in the year between it is down too
    ends.fill(was.replace(year=was.year + 2, day=28).isoformat())
    planner.get_by_role("button", name="Save").click()
    moved = planner.locator("section.moved")
    expect(moved).to_contain_text("becomes late")
    look(planner)


def workbook(path: Path, tag: str, set_pressure: str) -> Path:
    """One new position of the demo plant, its set pressure as given."""
    columns = ("site", "tag", "unit", "duty_role", "set_pressure")
    values = (SITE, tag, "Biogas", "first", set_pressure)
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("positions")
        sheet.write_row(0, 0, columns)
        sheet.write_row(1, 0, values)
    return path


def send(page: Page, path: Path) -> None:
    page.goto("/import/")
    page.get_by_label("Workbook").set_input_files(path)
    page.get_by_role("button", name="Read the workbook").click()


def test_a_workbook_is_mended_by_sheet_and_cell_and_then_confirmed(planner, tmp_path, request):
    tag = "PVV-8901" if "phone" in request.node.name else "PVV-8902"
    planner.goto("/import/")
    look(planner)
    send(planner, workbook(tmp_path / "faulty.xlsx", tag, "21 1/2/3 psig"))
    expect(planner.locator("#state")).to_contain_text("Faults: 1", timeout=PATIENCE_MS)
    fault = planner.locator("table", has_text="21 1/2/3 psig")
    expect(fault).to_contain_text("positions")
    expect(fault).to_contain_text("row 2, set_pressure")
    look(planner)
    send(planner, workbook(tmp_path / "good.xlsx", tag, "21 1/2 psig"))
    expect(planner.locator("#state")).to_contain_text("No faults", timeout=PATIENCE_MS)
    look(planner)
    planner.get_by_role("button", name="Load it").click()
    expect(planner.locator("#state")).to_contain_text("Loaded", timeout=PATIENCE_MS)
    planner.get_by_role("searchbox", name="Find").fill(tag)
    planner.get_by_role("searchbox", name="Find").press("Enter")
    expect(planner.get_by_role("heading", level=1)).to_contain_text(tag)
    expect(planner.locator("main")).to_contain_text("21 1/2 psig")
