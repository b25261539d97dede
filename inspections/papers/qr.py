"""A QR code drawn onto paper: square modules on white, with the quiet zone the standard asks for.

ISO/IEC 18004 asks for four modules of white all around (from memory).
"""

from itertools import groupby

import segno
from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas

from fleet.drawings.inks import BLACK

QUIET = 4


def draw_qr(canvas: Canvas, text: str, left: float, bottom: float, size: float) -> None:
    """The code of `text` in a square of `size` points, its quiet zone included.

    Level M bears a seventh of it rubbed off. Each run of dark modules is one rectangle.
    """
    rows = [list(row) for row in segno.make(text, error="m", micro=False).matrix]
    module = size / (len(rows) + 2 * QUIET)
    canvas.setFillColor(HexColor(BLACK))
    for number, row in enumerate(rows):
        y = bottom + size - (number + 1 + QUIET) * module
        at = QUIET
        for is_dark, run in groupby(row):
            length = len(list(run))
            if is_dark:
                canvas.rect(left + at * module, y, length * module, module, stroke=0, fill=1)
            at += length
