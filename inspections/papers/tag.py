"""The hand-tag that hangs on the valve, 90 by 50 mm: what it is, and a code that opens its page."""

import io

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from fleet.drawings.axis import day_words
from fleet.drawings.inks import ACCENT, BLACK, HAIR, SOFT
from fleet.papers.lettering import BOLD, SANS, broken, printable, register_fonts, width_of
from inspections.actions.assess import POPPED
from inspections.papers.qr import draw_qr
from inspections.reports.hand_tag import HandTag

WIDTH, HEIGHT = 90 * mm, 50 * mm
MARGIN = 4.5 * mm
QR_SIZE = 33 * mm
TEXT_WIDTH = WIDTH - QR_SIZE - MARGIN - 1 * mm
HALF = TEXT_WIDTH / 2
LABEL, VALUE, SMALLEST = 5.2, 9.0, 5.0
DUE_LINES = 3


def pdf(tag: HandTag, address: str) -> bytes:
    """One tag. `address`: the whole address of the device's page, which the code holds."""
    register_fonts()
    buffer, inspection = io.BytesIO(), tag.inspection
    canvas = Canvas(buffer, pagesize=(WIDTH, HEIGHT), invariant=1, pageCompression=1, lang="en")
    canvas.setTitle(f"Hand-tag {inspection.device} {inspection.ref}")
    canvas.setCreator("Relief Fleet")
    top = HEIGHT - MARGIN
    _fitted(canvas, inspection.device.number, MARGIN, top - 11, TEXT_WIDTH - 2 * mm, 15, BOLD)
    canvas.setStrokeColor(HexColor(ACCENT))
    canvas.setLineWidth(1)
    canvas.line(MARGIN, top - 17, MARGIN + TEXT_WIDTH - 2 * mm, top - 17)
    _facts(canvas, tag, top - 26)
    draw_qr(canvas, address, WIDTH - QR_SIZE, HEIGHT - QR_SIZE, QR_SIZE)
    _foot(canvas, tag)
    canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _facts(canvas: Canvas, tag: HandTag, y: float) -> None:
    inspection = tag.inspection
    done = "Tested on" if inspection.activity in POPPED else "Done on"
    day = day_words(inspection.done_on) if inspection.done_on else "not recorded"
    _fact(canvas, "Serial", inspection.device.serial or "not recorded", 0, y)
    _fact(canvas, "Tag", tag.place, 1, y)
    _fact(canvas, "Set pressure", tag.set_pressure, 0, y - 25, BOLD)
    _fact(canvas, "Seal", inspection.seal_left or "not recorded", 1, y - 25)
    _fact(canvas, done, inspection.done_typed or day, 0, y - 50)
    _fact(canvas, "Due by", tag.due, 1, y - 50, BOLD)
    words = broken(tag.due_words, SANS, LABEL, HALF - 3)
    shown = words if len(words) <= DUE_LINES else [*words[: DUE_LINES - 1], "… see its page"]
    for number, line in enumerate(shown):
        _line(canvas, line, MARGIN + HALF, y - 67 - number * 6, SANS, LABEL, SOFT)


def _fact(canvas: Canvas, name: str, value: str, column: int, y: float, font: str = SANS) -> None:
    left = MARGIN + column * HALF
    _line(canvas, name, left, y, SANS, LABEL, SOFT)
    _fitted(canvas, value, left, y - 10, HALF - 3, VALUE, font)


def _fitted(
    canvas: Canvas, text: str, left: float, y: float, width: float, size: float, font: str
) -> None:
    """On one line, smaller where it must be; what does not fit even so ends in an ellipsis."""
    shown = " ".join(printable(text).split())
    fit = max(SMALLEST, min(size, width / max(width_of(shown, font, 1), 0.01)))
    if width_of(shown, font, fit) > width + 0.01:
        while shown and width_of(f"{shown}…", font, fit) > width:
            shown = shown[:-1]
        shown += "…"
    _line(canvas, shown, left, y, font, fit, BLACK)


def _foot(canvas: Canvas, tag: HandTag) -> None:
    canvas.setStrokeColor(HexColor(HAIR))
    canvas.setLineWidth(0.4)
    canvas.line(MARGIN, 19, WIDTH - MARGIN, 19)
    said = f"Due date as known on {day_words(tag.as_of)}; the code opens its page."
    _line(canvas, said, MARGIN, 9.5, SANS, LABEL, SOFT)
    ref = " ".join(broken(f"Record {tag.inspection.ref}", SANS, LABEL, QR_SIZE - MARGIN)[:1])
    canvas.drawRightString(WIDTH - MARGIN, 9.5, ref)


def _line(canvas: Canvas, text: str, x: float, y: float, font: str, size: float, ink: str) -> None:
    canvas.setFont(font, size)
    canvas.setFillColor(HexColor(ink))
    canvas.drawString(x, y, text)
