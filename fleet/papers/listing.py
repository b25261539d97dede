"""A list on landscape sheets: a heading, then rows of a few cells with several lines each.

The same content gives the same bytes, so that a file can be hashed and compared. The font is
embedded and has fractions, arrows and the shapes of states.
"""

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4, landscape
from reportlab.pdfgen.canvas import Canvas

from fleet.drawings.inks import ACCENT, BLACK, HAIR, SOFT
from fleet.papers.lettering import (
    BOLD,
    INKS,
    SANS,
    NumberedCanvas,
    broken,
    printable,
    register_fonts,
    width_of,
)

WIDTH, HEIGHT = landscape(A4)
MARGIN, GAP, PAD = 30.0, 8.0, 4.0
SIZE, LEADING = 6.6, 8.4
TOP, BOTTOM = HEIGHT - 46, 34.0


@dataclass(frozen=True)
class Words:
    """One paragraph of a cell; ink is a word of INKS."""

    text: str
    ink: str = ""
    is_bold: bool = False


@dataclass(frozen=True)
class Column:
    title: str
    width: float  # in points; the widths of a list add up to its sheet's


@dataclass(frozen=True)
class Heading:
    """What the first sheet says above the list; `running` stands on every sheet."""

    title: str
    lines: Sequence[str]
    running: str
    facts: Sequence[tuple[str, str]] = field(default_factory=tuple)


Cell = Sequence[Words]


def listing_pdf(
    heading: Heading, columns: Sequence[Column], rows: Iterable[Sequence[Cell]]
) -> bytes:
    """The list as a PDF. A row is never parted between sheets unless it is longer than one."""
    register_fonts()
    buffer = io.BytesIO()
    canvas = NumberedCanvas(buffer, pagesize=(WIDTH, HEIGHT), invariant=1, pageCompression=1)
    canvas.setTitle(heading.title)
    canvas.setCreator("Relief Fleet")
    sheet = _Sheet(canvas, heading, columns)
    sheet.begin_first()
    for row in rows:
        sheet.add(row)
    sheet.end()
    canvas.save()
    return buffer.getvalue()


class _Sheet:
    """Where on the sheet the next row goes."""

    def __init__(self, canvas: Canvas, heading: Heading, columns: Sequence[Column]) -> None:
        self.canvas, self.heading, self.columns = canvas, heading, columns
        self.y = TOP
        self.lefts = [MARGIN + sum(c.width for c in columns[:i]) for i in range(len(columns))]

    def begin_first(self) -> None:
        canvas, y = self.canvas, HEIGHT - 52
        canvas.setFont(BOLD, 17)
        canvas.drawString(MARGIN, y, printable(self.heading.title))
        y -= 17
        for line in self.heading.lines:
            for part in broken(line, SANS, 8.5, WIDTH - 2 * MARGIN):
                canvas.setFont(SANS, 8.5)
                canvas.drawString(MARGIN, y, part)
                y -= 12
        self.y = self._facts(y - 10) - 12
        self._foot()
        self._head()

    def _facts(self, y: float) -> float:
        """Figures with their words, side by side, onto a second line where they must."""
        x = MARGIN
        for figure, words in self.heading.facts:
            wide = width_of(figure, BOLD, 12) + 4
            whole = wide + width_of(words, SANS, 8) + 22
            if x + whole > WIDTH - MARGIN:
                x, y = MARGIN, y - 17
            self.canvas.setFont(BOLD, 12)
            self.canvas.drawString(x, y, figure)
            self.canvas.setFont(SANS, 8)
            self.canvas.drawString(x + wide, y, words)
            x += whole
        return y

    def add(self, row: Sequence[Cell]) -> None:
        cells = [
            _lines(cell, column.width - GAP) for cell, column in zip(row, self.columns, strict=True)
        ]
        while any(cells):
            room = int((self.y - BOTTOM - 2 * PAD) / LEADING)
            needed = max(len(lines) for lines in cells)
            if needed > room and not self._is_fresh():
                self._turn()
                continue
            self._draw([lines[:room] for lines in cells])
            cells = [lines[room:] for lines in cells]

    def _draw(self, cells: list[list[Words]]) -> None:
        top = self.y - PAD - SIZE
        for left, lines in zip(self.lefts, cells, strict=True):
            for number, words in enumerate(lines):
                self.canvas.setFont(BOLD if words.is_bold else SANS, SIZE)
                self.canvas.setFillColor(HexColor(INKS[words.ink]))
                self.canvas.drawString(left, top - number * LEADING, words.text)
        self.y -= max(len(lines) for lines in cells) * LEADING + 2 * PAD
        self._rule(HAIR, 0.4)

    def _is_fresh(self) -> bool:
        return self.y >= self.first_row

    def _turn(self) -> None:
        self.canvas.showPage()
        self.y = TOP + 12
        self._foot()
        self._head()

    def end(self) -> None:
        self.canvas.showPage()

    def _head(self) -> None:
        self.canvas.setFillColor(HexColor(SOFT))
        for left, column in zip(self.lefts, self.columns, strict=True):
            self.canvas.setFont(SANS, SIZE)
            self.canvas.drawString(left, self.y - SIZE, column.title)
        self.y -= SIZE + PAD + 1
        self._rule(BLACK, 0.7)
        self.first_row = self.y

    def _rule(self, ink: str, width: float) -> None:
        self.canvas.setStrokeColor(HexColor(ink))
        self.canvas.setLineWidth(width)
        self.canvas.line(MARGIN, self.y, WIDTH - MARGIN, self.y)

    def _foot(self) -> None:
        self.canvas.setFont(SANS, SIZE)
        self.canvas.setFillColor(HexColor(ACCENT))
        self.canvas.drawString(MARGIN, 20, printable(self.heading.running))


def _lines(cell: Cell, width: float) -> list[Words]:
    """The cell broken into lines; words are measured in the font they will stand in."""
    return [
        Words(part, words.ink, words.is_bold)
        for words in cell
        if words.text
        for part in broken(words.text, BOLD if words.is_bold else SANS, SIZE, width)
    ]
