"""Hands that do a job one way alone, and count what they do: a keyboard, or fingers on glass."""

from abc import ABC, abstractmethod
from dataclasses import dataclass

from playwright.sync_api import Locator, Page, expect

# WCAG 2.2, 2.4.7: where the keyboard is, is seen: an outline, or a border or shadow of its own.
STANDS = """() => {
  const here = document.activeElement;
  if (!here || here === document.body) return ""; // in the browser's own bar
  const drawn = getComputedStyle(here);
  const seen = drawn.outlineStyle !== "none" && parseFloat(drawn.outlineWidth) >= 2;
  const box = here.getBoundingClientRect();
  const inside = box.bottom > 0 && box.top < innerHeight;
  return seen && inside ? "" : `${here.outerHTML.slice(0, 120)} is not seen to have the keyboard`;
}"""
MOST_TABS = 160


@dataclass
class Hands(ABC):
    """inputs: fields typed or chosen; presses: buttons and links."""

    page: Page
    inputs: int = 0
    presses: int = 0

    def write(self, field: Locator, typed: str) -> None:
        self.reach(field)
        self.page.keyboard.type(typed)
        self.inputs += 1

    def choose(self, field: Locator, label: str) -> None:
        self.reach(field)
        self.pick(field, label)
        expect(field.locator("option:checked")).to_have_text(label)
        self.inputs += 1

    def press(self, button: Locator) -> None:
        self.strike(button)
        self.presses += 1

    @abstractmethod
    def reach(self, place: Locator) -> None:
        """Come to it, so that what is typed goes there."""

    @abstractmethod
    def pick(self, field: Locator, label: str) -> None:
        """Take one line of a closed list that has been come to."""

    @abstractmethod
    def strike(self, button: Locator) -> None:
        """Press it."""


class Keyboard(Hands):
    """Tab, Enter and letters; there is no mouse."""

    def reach(self, place: Locator) -> None:
        """Tab on until there, never having been anywhere unseen."""
        expect(place).to_be_visible()
        there = place.element_handle()
        for _ in range(MOST_TABS):
            if there.evaluate("e => e === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
            lost = self.page.evaluate(STANDS)
            assert not lost, lost
        raise AssertionError(f"the keyboard never came to {there.evaluate('e => e.outerHTML')}")

    def pick(self, field: Locator, label: str) -> None:
        self.page.keyboard.type(label)  # a closed list goes to what is typed

    def strike(self, button: Locator) -> None:
        self.reach(button)
        self.page.keyboard.press("Enter")


class Fingers(Hands):
    """Taps, and letters of the keyboard on the glass; a list opens the device's own picker, which
    is not the page's and is chosen from by the browser."""

    def reach(self, place: Locator) -> None:
        place.tap()
        expect(place).to_be_focused()

    def pick(self, field: Locator, label: str) -> None:
        field.select_option(label=label)

    def strike(self, button: Locator) -> None:
        button.tap()


def overhaul(hands: Hands, tag: str, pop: str) -> None:
    """A standard overhaul in which nothing was wrong, from the bench to the signature."""
    page, label = hands.page, hands.page.get_by_label
    page.goto("/bench/")
    hands.write(label("Device or tag"), tag)
    hands.press(page.get_by_role("button", name="Open the job"))
    _at(page, "Arrival")
    hands.write(label("Seals as they came"), "whole")
    _on(hands)
    _at(page, "As-received pop")
    hands.write(label("Opened at"), pop)
    _gauge(hands)
    _on(hands)
    _at(page, "As found")
    for part in page.locator("form.walk section.target").all():
        left = part.locator(".where b").last.inner_text().replace("−", "-")
        hands.write(part.locator(".entry input[type=text]"), left)
    _on(hands)
    _at(page, "Inspect and repair")
    hands.choose(label("Contact check 1"), "unbroken ring")
    _on(hands)
    _at(page, "Reassemble")
    for part in page.locator("form.walk section.target").all():
        hands.press(part.get_by_role("button", name="It stands at"))
        expect(part.locator("output")).to_contain_text("equal")
    _on(hands)
    _at(page, "As-left pop")
    hands.write(label("Opened at"), pop)
    hands.choose(label("Where it goes"), "repaired")
    _on(hands)
    _at(page, "Seal and sign")
    hands.write(label("Seal and lock-wire number"), "VS-9002")
    _on(hands)
    hands.press(page.get_by_role("button", name="Sign as"))
    expect(page.locator("main [role=status]").first).to_contain_text("Signed")


def _at(page: Page, step: str) -> None:
    expect(page.locator(".steps [aria-current=step]")).to_have_text(step)


def _on(hands: Hands) -> None:
    hands.press(hands.page.locator("form.walk .go .btn").first)


def _gauge(hands: Hands) -> None:
    """The gauge of the job before, with one press where the page offers it; else typed."""
    offered = hands.page.get_by_role("button", name="The same as on")
    if offered.count():
        hands.press(offered)
        return
    label = hands.page.get_by_label
    hands.choose(label("Medium"), "air")
    hands.write(label("Gauge", exact=True), "PG-114")
    hands.write(label("Gauge range"), "0 to 400 psig")
    hands.write(label("Gauge accuracy"), "0.25 %")
