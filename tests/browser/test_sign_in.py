"""The first page anyone sees, and the harness itself: it must notice what it is there to notice."""

import pytest
from playwright.sync_api import expect

from tests.browser.steps import axe_clean, axe_violations, fits


@pytest.mark.parametrize("held", ["page", "phone"])
def test_the_sign_in_page_is_clean(held, request):
    page = request.getfixturevalue(held)
    page.goto("/sign-in/")
    expect(page.locator("input[name=username]")).to_be_visible()
    fits(page)
    axe_clean(page)


def test_a_wrong_password_is_told_and_keeps_the_name(page):
    page.goto("/sign-in/")
    page.fill("input[name=username]", "nobody")
    page.fill("input[name=password]", "wrong")
    page.click("main button[type=submit]")
    expect(page.locator("main [role=alert]")).to_be_visible()
    expect(page.locator("input[name=username]")).to_have_value("nobody")
    axe_clean(page)


@pytest.mark.parametrize(
    ("script", "word"),
    [
        ("console.error('planted')", "planted"),
        (
            "document.body.setAttribute('onclick', 'go()')",
            "Content Security",
        ),
        ("document.body.innerHTML += '<p style=\"color: red\">x</p>'", "Content Security"),
        ("location.assign('http://127.0.0.2:9/')", "another host"),
        ("setTimeout(() => { throw new Error('planted') })", "planted"),
    ],
)
def test_the_watch_sees_a_planted_fault(page, script, word):
    page.goto("/sign-in/")
    page.evaluate(f"() => {{ {script} }}")
    page.wait_for_timeout(200)
    assert any(word in line for line in page.watch.seen), page.watch.seen
    page.watch.expected.append(".")


def test_the_accessibility_engine_sees_a_planted_fault(page):
    page.goto("/sign-in/")
    page.evaluate("document.querySelectorAll('label').forEach(label => label.remove())")
    assert any("label" in line for line in axe_violations(page))
