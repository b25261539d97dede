"""Contrast of the style sheet's own tokens, in both schemes and on paper.

Thresholds: WCAG 2.2, 1.4.3 (text 4.5 to 1) and 1.4.11 (parts of controls and drawings 3 to 1).
The formula for relative luminance is the one WCAG 2.2 defines; checked against its own ends, 21 to
1 for black on white.
"""

import re
from pathlib import Path

import pytest

STYLE = (Path(__file__).resolve().parents[2] / "fleet/static/fleet/style.css").read_text()
SCHEMES = ("light", "dark", "paper")
TEXT_ON_GROUND = [
    (ink, ground)
    for ink in ("ink", "soft", "accent", "late", "warn", "good")
    for ground in ("paper", "raise", "sunk")
] + [
    ("ink", "accent-soft"),
    ("ink", "late-soft"),
    ("ink", "warn-soft"),
    ("ink", "good-soft"),
    ("soft", "warn-soft"),
    ("late", "late-soft"),
    ("soft", "band"),
    ("accent", "band"),
    ("late", "band"),
    ("on-accent", "accent"),
]
PARTS_ON_GROUND = [("edge", "paper"), ("edge", "raise"), ("accent", "paper"), ("ink", "band")]


def tokens(scheme):
    """The custom properties of a scheme; dark and paper build on light."""
    blocks = re.findall(r":root \{(.*?)\}", STYLE, re.S)
    chosen = {"light": blocks[:1], "dark": blocks[:2], "paper": [blocks[0], blocks[-1]]}[scheme]
    return dict(re.findall(r"--([\w-]+): (#\w+)", " ".join(chosen)))


def luminance(colour):
    digits = colour.lstrip("#")
    digits = "".join(d * 2 for d in digits) if len(digits) == 3 else digits
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_the_ends_that_wcag_names():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777", "#777777") == 1


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("ink, ground", TEXT_ON_GROUND)
def test_text_can_be_read(scheme, ink, ground):
    found = tokens(scheme)
    assert contrast(found[ink], found[ground]) >= 4.5


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("ink, ground", PARTS_ON_GROUND)
def test_controls_and_marks_stand_out(scheme, ink, ground):
    found = tokens(scheme)
    assert contrast(found[ink], found[ground]) >= 3


def test_every_custom_property_used_is_defined():
    defined = set(re.findall(r"--([\w-]+):", STYLE))
    assert set(re.findall(r"var\(--([\w-]+)\)", STYLE)) <= defined
