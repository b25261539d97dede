"""The band mark: a dot as found and a ring as left, on the tolerance band about CDTP.

One scale for a whole column: `span_percent` to both sides, so that marks compare down the page. A
value beyond it is a chevron at the edge, and its figure stands in the label.
"""

from fractions import Fraction

from fleet.drawings.scene import Circle, Line, Mark, Rect, Scene, chevron, triangle
from fleet.drawings.words import percent_words

HEIGHT = 34
MIDDLE = 17
BAND_HALF = 10
SPAN = Fraction(8)


def band_mark(
    low_percent: Fraction | None,
    high_percent: Fraction | None,
    as_found_percent: Fraction | None,
    as_left_percent: Fraction | None,
    censored: bool = False,
    *,
    span_percent: Fraction = SPAN,
) -> Scene:
    """Percent of CDTP throughout. `censored`: as found is "no lift at", the true value above it."""
    scale = _Scale(span_percent)
    marks: list[Mark] = [Line(0, MIDDLE, 100, MIDDLE, "scale")]
    if low_percent is not None and high_percent is not None:
        marks += _band(scale, low_percent, high_percent)
    marks.append(Line(50, MIDDLE - BAND_HALF, 50, MIDDLE + BAND_HALF, "centre"))
    if as_left_percent is not None:
        outside = _is_outside(as_left_percent, low_percent, high_percent)
        marks.append(_mark(scale, as_left_percent, "left", outside, 5.2))
    if as_found_percent is not None:
        outside = _is_outside(as_found_percent, low_percent, high_percent)
        marks += _found(scale, as_found_percent, outside, censored)
    label = _words(low_percent, high_percent, as_found_percent, as_left_percent, censored)
    return Scene(label, HEIGHT, tuple(marks), "band-mark")


class _Scale:
    """Percent of CDTP -> percent of the drawing's width, 3 % of it kept free at each end."""

    def __init__(self, span: Fraction) -> None:
        self.span = span

    def x(self, value: Fraction) -> float:
        return 50 + float(value / self.span) * 47

    def holds(self, value: Fraction) -> bool:
        return abs(value) <= self.span


def _band(scale: _Scale, low: Fraction, high: Fraction) -> list[Mark]:
    left = scale.x(max(low, -scale.span))
    right = scale.x(min(high, scale.span))
    top, bottom = MIDDLE - BAND_HALF, MIDDLE + BAND_HALF
    return [
        Rect(left, top, right - left, bottom - top, "band"),
        Line(left, top, left, bottom, "edge"),
        Line(right, top, right, bottom, "edge"),
    ]


def _is_outside(value: Fraction, low: Fraction | None, high: Fraction | None) -> bool:
    return (low is not None and value < low) or (high is not None and value > high)


def _found(scale: _Scale, value: Fraction, outside: bool, censored: bool) -> list[Mark]:
    if not censored:
        return [_mark(scale, value, "found", outside, 4.5)]
    x = scale.x(min(value, scale.span))
    return [
        Circle(x, MIDDLE, 3, "censored"),
        Line(x, MIDDLE, 99, MIDDLE, "censored"),
        chevron(100, MIDDLE, "censored"),
    ]


def _mark(scale: _Scale, value: Fraction, stage: str, outside: bool, radius: float) -> Mark:
    css = f"{stage} outside" if outside else stage
    if not scale.holds(value):
        is_low = value < 0
        return chevron(0 if is_low else 100, MIDDLE, "beyond late", points_left=is_low)
    if outside:
        return triangle(scale.x(value), MIDDLE, css, points_down=value < 0)
    return Circle(scale.x(value), MIDDLE, radius, css)


def _words(
    low: Fraction | None,
    high: Fraction | None,
    found: Fraction | None,
    left: Fraction | None,
    censored: bool,
) -> str:
    lift = "as found no lift at" if censored and found is not None else "as found"
    parts = [f"{lift} {percent_words(found)}", f"as left {percent_words(left)}"]
    if low is not None and high is not None:
        parts.append(f"band {percent_words(low)} to {percent_words(high)}")
    else:
        parts.append("no band")
    return ", ".join(parts)
