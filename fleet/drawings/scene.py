"""What a drawing is made of, before it is SVG or PDF.

Across is a percentage of the drawing's width (0 left, 100 right), down is pixels: so a drawing
fills any width, its dots stay round, and two drawings of one width agree to the pixel. Colours and
strokes are words (`css`), given a look by the style sheet on the page and by `inks.INK` on paper.
"""

from dataclasses import dataclass

Outline = tuple[tuple[float, float], ...]  # points in pixels about the glyph's own place


@dataclass(frozen=True, slots=True)
class Line:
    x1: float
    y1: float
    x2: float
    y2: float
    css: str


@dataclass(frozen=True, slots=True)
class Rect:
    x: float
    y: float
    width: float
    height: float
    css: str


@dataclass(frozen=True, slots=True)
class Rule:
    """A vertical line through the whole height, whatever the height turns out to be."""

    x: float
    css: str


@dataclass(frozen=True, slots=True)
class Stripe:
    """A band through the whole height; `title` is what it says when pointed at."""

    x: float
    width: float
    css: str
    title: str = ""


@dataclass(frozen=True, slots=True)
class Circle:
    x: float
    y: float
    radius: float
    css: str


@dataclass(frozen=True, slots=True)
class Glyph:
    """A small shape of fixed size at a place: outlines in pixels, closed or open."""

    x: float
    y: float
    outlines: tuple[Outline, ...]
    css: str
    closed: bool = True


@dataclass(frozen=True, slots=True)
class Text:
    """Words at a place, `dx` pixels aside; anchor is start, middle or end."""

    x: float
    y: float
    words: str
    css: str = ""
    anchor: str = "start"
    dx: float = 0


@dataclass(frozen=True, slots=True)
class Link:
    """Marks that open a record: `label` is read aloud and shown when pointed at.

    Without an address the marks only say their label: a file that leaves the site opens nothing.
    """

    href: str
    label: str
    marks: "tuple[Mark, ...]"


Mark = Line | Rect | Rule | Stripe | Circle | Glyph | Text | Link


@dataclass(frozen=True, slots=True)
class Scene:
    """A whole drawing: `label` says it in words, `height` in pixels.

    `is_centred`: the marks' y counts from the middle, so the drawing may be stretched in height
    (Rule and Stripe follow) without its shapes changing.
    """

    label: str
    height: float
    marks: tuple[Mark, ...]
    css: str = ""
    is_centred: bool = False


def triangle(x: float, y: float, css: str, *, points_down: bool = False) -> Glyph:
    """An equal-sided triangle of about a dot's weight, its middle at (x, y)."""
    tip, base = (7.5, -5.0) if points_down else (-7.5, 5.0)
    return Glyph(x, y, (((0, tip), (7, base), (-7, base)),), css)


def arrow_up(x: float, y: float, css: str) -> Glyph:
    """From the mark upwards: the true value lies above (no lift at that pressure)."""
    stem = ((0.0, 0.0), (0.0, -15.0))
    return Glyph(x, y, (stem, ((-5.0, -10.0), (0.0, -16.0), (5.0, -10.0))), css, closed=False)


def chevron(x: float, y: float, css: str, *, points_left: bool = False) -> Glyph:
    """At the edge of the drawing: what it marks lies beyond."""
    tip, back = (1.0, 7.0) if points_left else (-1.0, -7.0)
    return Glyph(x, y, (((back, -6), (tip, 0), (back, 6)),), css, closed=False)


def double_stroke(x: float, y: float, half: float, css: str) -> Glyph:
    """A cut: what stands on its two sides is not compared. `half` its height from (x, y)."""
    strokes = tuple(((dx - 3, half), (dx + 3, -half)) for dx in (-3.5, 3.5))
    return Glyph(x, y, strokes, css, closed=False)
