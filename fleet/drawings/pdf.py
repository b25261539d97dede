"""The same scenes on paper: one small drawer onto a ReportLab canvas, same geometry as svg.py."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from reportlab.lib.colors import Color, HexColor
from reportlab.pdfgen.canvas import Canvas

from fleet.drawings.inks import BLACK, INK, Ink
from fleet.drawings.scene import Circle, Glyph, Line, Link, Mark, Rect, Rule, Scene, Stripe, Text

SCALE = 0.75  # a pixel of the screen in points
FONT_SIZE = 7.5


def draw_pdf(
    canvas: Canvas, scene: Scene, left: float, top: float, width: float, font: str = "Helvetica"
) -> float:
    """Draw with the top left corner at (left, top), `width` wide, in points; answers its height.

    `font` must be registered; marks of a link are drawn, the link itself is not. An unknown word of
    css is a KeyError: nothing is drawn in a guessed colour.
    """
    height = scene.height * SCALE
    middle = height / 2 if scene.is_centred else 0
    sheet = _Sheet(canvas, left, top, width, height, middle, font)
    for mark in scene.marks:
        _draw(sheet, mark)
    return height


@dataclass(frozen=True)
class _Sheet:
    canvas: Canvas
    left: float
    top: float
    width: float
    height: float
    middle: float
    font: str

    def x(self, percent: float) -> float:
        return self.left + percent / 100 * self.width

    def y(self, pixels: float) -> float:
        """Paper counts upwards, scenes downwards."""
        return self.top - self.middle - pixels * SCALE

    @contextmanager
    def inked(self, css: str) -> Iterator[Ink]:
        ink = INK[css]
        self.canvas.saveState()
        self.canvas.setLineWidth(ink.width * SCALE)
        self.canvas.setDash(*([list(ink.dash)] if ink.dash else []))
        self.canvas.setStrokeColor(_color(ink.stroke))
        self.canvas.setFillColor(_color(ink.fill))
        yield ink
        self.canvas.restoreState()


def _color(text: str) -> Color:
    return HexColor(text or BLACK)


def _draw(sheet: _Sheet, mark: Mark) -> None:
    DRAWERS[type(mark)](sheet, mark)


def _line(sheet: _Sheet, m: Line) -> None:
    with sheet.inked(m.css):
        sheet.canvas.line(sheet.x(m.x1), sheet.y(m.y1), sheet.x(m.x2), sheet.y(m.y2))


def _rule(sheet: _Sheet, m: Rule) -> None:
    with sheet.inked(m.css):
        x = sheet.x(m.x)
        sheet.canvas.line(x, sheet.top, x, sheet.top - sheet.height)


def _rect(sheet: _Sheet, m: Rect) -> None:
    with sheet.inked(m.css):
        bottom = sheet.y(m.y + m.height)
        wide, high = m.width / 100 * sheet.width, m.height * SCALE
        sheet.canvas.rect(sheet.x(m.x), bottom, wide, high, stroke=0, fill=1)


def _stripe(sheet: _Sheet, m: Stripe) -> None:
    with sheet.inked(m.css):
        wide, bottom = m.width / 100 * sheet.width, sheet.top - sheet.height
        sheet.canvas.rect(sheet.x(m.x), bottom, wide, sheet.height, stroke=0, fill=1)


def _circle(sheet: _Sheet, m: Circle) -> None:
    with sheet.inked(m.css) as ink:
        if ink.stroke or ink.fill:
            where = (sheet.x(m.x), sheet.y(m.y), m.radius * SCALE)
            sheet.canvas.circle(*where, stroke=int(bool(ink.stroke)), fill=int(bool(ink.fill)))


def _glyph(sheet: _Sheet, m: Glyph) -> None:
    with sheet.inked(m.css) as ink:
        path = sheet.canvas.beginPath()
        for outline in m.outlines:
            places = [(sheet.x(m.x) + dx * SCALE, sheet.y(m.y + dy)) for dx, dy in outline]
            path.moveTo(*places[0])
            for place in places[1:]:
                path.lineTo(*place)
            if m.closed:
                path.close()
        fill = int(m.closed and bool(ink.fill))
        sheet.canvas.drawPath(path, stroke=int(bool(ink.stroke)), fill=fill)


def _text(sheet: _Sheet, m: Text) -> None:
    with sheet.inked(m.css) as ink:
        sheet.canvas.setFillColor(_color(ink.stroke or ink.fill))
        sheet.canvas.setFont(sheet.font, FONT_SIZE)
        x, y = sheet.x(m.x) + m.dx * SCALE, sheet.y(m.y)
        if m.anchor == "end":
            sheet.canvas.drawRightString(x, y, m.words)
        elif m.anchor == "middle":
            sheet.canvas.drawCentredString(x, y, m.words)
        else:
            sheet.canvas.drawString(x, y, m.words)


def _link(sheet: _Sheet, m: Link) -> None:
    for mark in m.marks:
        _draw(sheet, mark)


DRAWERS: dict[type, Callable[[_Sheet, Any], None]] = {
    Line: _line,
    Rect: _rect,
    Rule: _rule,
    Stripe: _stripe,
    Circle: _circle,
    Glyph: _glyph,
    Text: _text,
    Link: _link,
}
