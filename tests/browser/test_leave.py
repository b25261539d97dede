"""Leave to pass a due date, and an interval decided: what two people see on the way."""

import re

from playwright.sync_api import Page, expect

from tests.browser.steps import look

LATEST = re.compile(r"At the latest (\d+ \w+ \d+)")


def open_ask(planner: Page) -> str:
    """The first bench test without an outage in time leads to asking; answers its tag."""
    planner.goto("/due/?status=no_opportunity")
    lines = planner.locator("table.list tbody tr", has_text="Bench test")
    lines.get_by_role("link", name="Ask for leave").first.click()
    heading = planner.get_by_role("heading", level=1)
    expect(heading).to_contain_text("Ask for leave")
    return heading.get_by_role("link").inner_text()


def test_the_planner_asks_and_the_engineer_gives(person):
    planner, engineer = person("planner"), person("engineer")
    tag = open_ask(planner)
    look(planner)
    planner.get_by_role("link", name="Pick simple").click()
    expect(planner.locator("#id_until_on_helptext")).to_contain_text(LATEST)
    planner.get_by_label("Until").fill("2199-01-01")
    planner.get_by_label("Why it has to be passed").fill("No spare before the outage.")
    planner.watch.expected.append("422")
    planner.get_by_role("button", name="Ask for this leave").click()
    refused = planner.locator("#id_until_on_error")
    expect(refused).to_contain_text("at the latest")
    expect(refused).to_contain_text("API 510")
    look(planner)
    latest = planner.evaluate(
        "text => { const d = new Date(text + ' UTC'); return d.toISOString().slice(0, 10) }",
        LATEST.search(planner.locator("#id_until_on_helptext").inner_text())[1],
    )
    planner.get_by_label("Until").fill(latest)
    planner.get_by_role("button", name="Ask for this leave").click()
    row = planner.locator("table.list tbody tr").first
    expect(row).to_contain_text(tag)
    expect(row).to_contain_text("asked today")

    engineer.goto("/due/deferrals/")
    look(engineer)
    engineer.get_by_role("link", name="Answer it").click()
    expect(engineer.locator("main")).to_contain_text("No spare before the outage.")
    look(engineer)
    engineer.get_by_role("button", name="Approve").click()
    expect(engineer.locator("table.list tbody tr", has_text=tag)).to_contain_text("in force")
    planner.goto(f"/due/?find={tag}")
    expect(planner.locator("table.list")).to_contain_text("deferred to")


def test_the_engineer_sees_the_date_before_deciding(person, held):
    engineer = person("engineer")
    engineer.goto("/due/?find=PSV-3403")
    engineer.locator("table.list td.key a").first.click()
    links = engineer.get_by_role("link", name="Decide its interval")
    (links.first if held == "page" else links.last).click()  # each decides once
    engineer.get_by_label("No more than this apart").fill("42 months")
    engineer.get_by_label("Why").fill("Two good tests since.")
    engineer.get_by_role("button", name="Show the date it gives").click()
    expect(engineer.locator("table.list tbody tr").last).to_contain_text("42 months after")
    expect(engineer.locator("main")).to_contain_text("Nothing is decided yet")
    look(engineer)
    engineer.get_by_role("button", name="Decide it as shown").click()
    expect(engineer.locator(".messages")).to_contain_text("Decided")
    look(engineer)
