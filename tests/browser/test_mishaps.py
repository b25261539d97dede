"""Two people on one job, a session that ends, a network that dies: nothing typed is lost."""

import re

from playwright.sync_api import expect

from tests.browser.bench import at, block, go_on, open_job, target
from tests.browser.steps import look


def test_two_people_on_one_job_lose_nothing(person, held):
    tag = {"page": "SV-5113", "phone": "SV-5123"}[held]
    first, second = person("mechanic"), person("second")
    open_job(first, tag)
    second.goto(first.url)
    first.get_by_label("Seals as they came").fill("broken")
    first.get_by_label("Condition on arrival").fill("Wet, product in the bonnet.")
    first.get_by_role("button", name="Save and leave it here").click()
    second.watch.expected.append("409")
    second.get_by_label("Seals as they came").fill("whole, VS-8840")
    go_on(second)
    clash = second.get_by_role("alert")
    expect(clash).to_contain_text("broken")
    expect(clash).to_contain_text("whole, VS-8840")
    expect(second.get_by_label("Seals as they came")).to_have_value("whole, VS-8840")
    expect(second.get_by_label("Condition on arrival")).to_have_value("Wet, product in the bonnet.")
    look(second)
    go_on(second)
    first.goto(re.sub(r"[a-z_]+/$", "arrival/", second.url))
    expect(first.get_by_label("Seals as they came")).to_have_value("whole, VS-8840")
    expect(first.get_by_label("Condition on arrival")).to_have_value("Wet, product in the bonnet.")


def test_what_was_typed_outlives_the_session(person, held):
    """Signed out while typing: signing in brings it back, and nothing else was saved."""
    tag = {"page": "PSV-5501", "phone": "PSV-5503"}[held]
    page = person("mechanic")
    open_job(page, tag)
    job = page.url
    page.get_by_label("Condition on arrival").fill("Nameplate gone; it’s <b>stamped</b> 300.\nDry.")
    page.context.clear_cookies(name="sessionid")
    page.watch.expected += ["401", "403"]  # the page asks while it is signed out
    go_on(page)
    expect(page.locator("main")).to_contain_text("Nameplate gone")
    look(page)
    page.get_by_label("Username").fill("mechanic")
    page.get_by_label("Password").fill("wrong")
    page.get_by_role("button", name="Sign in").click()
    expect(page.locator("main")).to_contain_text("Nameplate gone")
    page.get_by_label("Username").fill("mechanic")
    page.get_by_label("Password").fill("lift-at-set")
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("button", name="Send it again").click()
    at(page, "As-received pop")
    page.goto(job)
    expect(page.get_by_label("Condition on arrival")).to_have_value(
        "Nameplate gone; it’s <b>stamped</b> 300.\nDry."
    )


def test_no_old_answer_stands_beside_a_changed_figure(person, held):
    """The network dies, then the session: each is said where the answer would have stood."""
    page = person("mechanic")
    open_job(page, {"page": "SV-5111", "phone": "SV-5121"}[held])
    page.goto(page.url.replace("arrival", "reassemble"))
    ring = block(page, "Lower ring")
    typed, answer = ring.locator(".entry input[type=text]"), ring.locator("output")
    typed.fill(target(page, "Lower ring"))
    expect(answer).to_contain_text("equal")
    page.watch.expected += ["INTERNET_DISCONNECTED", "htmx:", "401", "403"]
    page.context.set_offline(True)
    typed.fill("-3")
    expect(answer).to_contain_text("no answer from the site")
    page.context.set_offline(False)
    page.context.clear_cookies(name="sessionid")
    typed.fill("-33")
    expect(answer).to_contain_text("you were signed out")
    expect(typed).to_have_value("-33")
    look(page)
    go_on(page)
    expect(page.locator("main")).to_contain_text("-33")
