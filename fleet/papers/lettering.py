"""What every paper is set in: the embedded font, lines broken to a width, sheets counted.

The font has fractions, arrows and the shapes of states. What it has no sign for is written out by
its number, so that nothing typed vanishes from a paper unseen.
"""

import unicodedata
from functools import cache
from typing import Any

from django.conf import settings
from reportlab.lib.colors import HexColor
from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from fleet.drawings.inks import BLACK, LATE, SOFT, WARN

FONTS = settings.BASE_DIR / "fleet" / "static" / "fleet" / "fonts"
SANS, BOLD = "DejaVuSans", "DejaVuSans-Bold"
GOOD = "#1f5438"
INKS = {"": BLACK, "soft": SOFT, "late": LATE, "soon": WARN, "good": GOOD, "none": SOFT}
FOOT_SIZE, FOOT = 6.6, 20.0


@cache
def register_fonts() -> None:
    for name in (SANS, BOLD):
        pdfmetrics.registerFont(TTFont(name, FONTS / f"{name}.ttf"))


def width_of(text: str, font: str, size: float) -> float:
    return pdfmetrics.stringWidth(text, font, size)


def printable(text: str) -> str:
    """The text with signs that the font lacks written out, `⟨U+4E2D⟩`; lines are kept."""
    register_fonts()
    known = pdfmetrics.getFont(SANS).face.charToGlyph
    return "".join(c if ord(c) in known else _written_out(c) for c in text)


def _written_out(sign: str) -> str:
    if sign in "\n":
        return sign
    return " " if unicodedata.category(sign) in ("Cc", "Zs") else f"⟨U+{ord(sign):04X}⟩"


def broken(text: str, font: str, size: float, width: float) -> list[str]:
    """Broken between words; a word longer than the width is broken where it must be."""
    lines = []
    for part in simpleSplit(printable(text), font, size, width):
        while width_of(part, font, size) > width and len(part) > 1:
            fit = next(
                n
                for n in range(len(part) - 1, 0, -1)
                if n == 1 or width_of(part[:n], font, size) <= width
            )
            lines.append(part[:fit])
            part = part[fit:]
        lines.append(part)
    return lines


class NumberedCanvas(Canvas):
    """Writes `2 of 7` on each sheet once their number is known; `margin` is its right one."""

    margin = 30.0

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._sheets: list[dict[str, Any]] = []

    def showPage(self) -> None:
        self._sheets.append(dict(self.__dict__))
        self._startPage()

    @property
    def ended(self) -> int:
        """How many sheets are full."""
        return len(self._sheets)

    def bring_forward(self, count: int) -> None:
        """Put the last sheets first; all are numbered as they then lie."""
        start = len(self._sheets) - count
        self._sheets = self._sheets[start:] + self._sheets[:start]

    def save(self) -> None:
        for number, state in enumerate(self._sheets, 1):
            self.__dict__.update(state)
            self.setFont(SANS, FOOT_SIZE)
            self.setFillColor(HexColor(SOFT))
            right = self._pagesize[0] - self.margin
            self.drawRightString(right, FOOT, f"{number} of {len(self._sheets)}")
            super().showPage()
        super().save()
