"""Upright sheets filled from the top: a heading, then sections of facts, tables and words.

The same content gives the same bytes. Nothing is cut off: a line breaks to its width, and what is
too long for a sheet goes on upon the next, under its table's head.
"""

import io
from collections.abc import Collection, Iterable, Sequence

from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4

from fleet.drawings.inks import ACCENT, BLACK, HAIR, SOFT
from fleet.drawings.pdf import SCALE, draw_pdf
from fleet.drawings.scene import Scene
from fleet.papers.lettering import (
    BOLD,
    FOOT,
    FOOT_SIZE,
    INKS,
    SANS,
    NumberedCanvas,
    broken,
    register_fonts,
)
from fleet.papers.listing import Cell, Column, Words

WIDTH, HEIGHT = A4
MARGIN, GAP, PAD = 44.0, 9.0, 3.6
WIDE = WIDTH - 2 * MARGIN
TOP, BOTTOM = HEIGHT - 34, 40.0
SIZE, LEADING = 8.2, 10.6
LABEL = 6.6  # heads of columns and names of facts
BOXED = 24.0  # height of a row that is written into by hand


class _SheetCanvas(NumberedCanvas):
    margin = MARGIN


class Sheets:
    """One paper. `running` stands at the foot of every sheet, beside `n of m`."""

    def __init__(self, title: str, running: str) -> None:
        register_fonts()
        self._buffer = io.BytesIO()
        self.canvas = _SheetCanvas(
            self._buffer, pagesize=A4, invariant=1, pageCompression=1, lang="en"
        )
        self.canvas.setTitle(title)
        self.canvas.setCreator("Relief Fleet")
        self._running = broken(running, SANS, FOOT_SIZE, WIDE - 60)[:1]
        self.y = TOP
        self._foot()

    def heading(self, title: str, lines: Sequence[str], beside: float = 0.0) -> None:
        """The title, and under an accent rule what the paper is of.

        beside: the side of a square left free at the right, for a code or a picture.
        """
        top, wide = self.y, WIDE - beside
        self._lines([Words(title, is_bold=True)], size=17, leading=20, wide=wide)
        self.y -= 7
        self.rule(ACCENT, 1.2, wide)
        self.y -= 5
        self._lines([Words(line) for line in lines], size=SIZE, leading=LEADING, wide=wide)
        self.y = min(self.y, top - beside)

    def section(self, title: str, room: float = 60, above: float = 18) -> None:
        """Its title, never alone at the foot of a sheet: `room` is what must follow on it."""
        self._need(room)
        self.y -= above
        self._text(MARGIN, self.y, title, BOLD, 9.4, ACCENT)
        self.y -= 4
        self.rule(HAIR, 0.5)
        self.y -= 2

    def facts(self, pairs: Iterable[tuple[str, str]], columns: int = 4) -> None:
        """Names small above their values, side by side on a grid. Empty values are left out."""
        told = [(name, value) for name, value in pairs if value]
        wide = WIDE / columns
        for start in range(0, len(told), columns):
            row = told[start : start + columns]
            cells = [broken(value, SANS, SIZE, wide - GAP) for _, value in row]
            self._fact_row([name for name, _ in row], cells, wide)

    def _fact_row(self, names: Sequence[str], cells: list[list[str]], wide: float) -> None:
        while any(cells):
            self._need(LABEL + 2 * LEADING)
            room = max(1, int((self.y - BOTTOM - LABEL - 6) / LEADING))
            if max(map(len, cells)) > room and self.y < TOP - 1:
                self.turn()
                continue
            self.y -= LABEL + 5
            for place, (name, lines) in enumerate(zip(names, cells, strict=True)):
                left = MARGIN + place * wide
                self._text(left, self.y, name, SANS, LABEL, SOFT)
                for number, line in enumerate(lines[:room], 1):
                    self._text(left, self.y - number * LEADING, line, SANS, SIZE, BLACK)
            self.y -= min(room, max(map(len, cells))) * LEADING + 1
            cells = [lines[room:] for lines in cells]

    def boxes(self, names: Sequence[str], columns: int = 4, height: float = BOXED) -> None:
        """Named empty boxes side by side, to be written into."""
        wide = WIDE / columns
        for start in range(0, len(names), columns):
            self._need(LABEL + height + 8)
            self.y -= LABEL + 5
            for place, name in enumerate(names[start : start + columns]):
                self._text(MARGIN + place * wide, self.y, name, SANS, LABEL, SOFT)
                is_last = place == columns - 1
                box = wide if is_last else wide - GAP
                self.box(MARGIN + place * wide, self.y - height - 2.5, box, height)
            self.y -= height + 4

    def table(
        self,
        columns: Sequence[Column],
        rows: Iterable[Sequence[Cell]],
        blanks: Collection[int] = (),
        boxed: float = BOXED,
    ) -> None:
        """Rows of cells; a column in `blanks` gets an empty box a row, to be written into."""
        self._need(40 + boxed * bool(blanks))
        self._head(columns)
        for row in rows:
            self.row(columns, row, blanks, boxed)

    def row(
        self,
        columns: Sequence[Column],
        row: Sequence[Cell],
        blanks: Collection[int] = (),
        boxed: float = BOXED,
    ) -> None:
        """One more row of the table begun last; on a new sheet under its head again."""
        cells = [_lines(cell, col.width - GAP) for cell, col in zip(row, columns, strict=True)]
        least = boxed if blanks else 0.0
        is_begun = False
        while any(cells) or not is_begun:
            room = int((self.y - BOTTOM - 2 * PAD) / LEADING)
            needed = max(*(len(lines) for lines in cells), 1)
            if max(needed * LEADING + 2 * PAD, least) > self.y - BOTTOM and not self._is_fresh():
                self.turn()
                self._head(columns)
                continue
            self._draw_row(columns, [lines[:room] for lines in cells], blanks, least)
            cells, is_begun = [lines[room:] for lines in cells], True

    def _draw_row(self, columns, cells: list[list[Words]], blanks, least: float) -> None:
        high = max(max(map(len, cells)) * LEADING + 2 * PAD, least)
        left, first = MARGIN, self.y - PAD - SIZE + 0.6
        for place, (column, lines) in enumerate(zip(columns, cells, strict=True)):
            for number, words in enumerate(lines):
                font = BOLD if words.is_bold else SANS
                self._text(left, first - number * LEADING, words.text, font, SIZE, INKS[words.ink])
            if place in blanks:
                wide = column.width if place == len(columns) - 1 else column.width - GAP
                self.box(left, self.y - high + 2.5, wide, high - 5)
            left += column.width
        self.y -= high
        if not blanks:
            self.rule(HAIR, 0.4)

    def _head(self, columns: Sequence[Column]) -> None:
        left = MARGIN
        self.y -= LABEL + 3
        for column in columns:
            self._text(left, self.y, column.title, SANS, LABEL, SOFT)
            left += column.width
        self.y -= 3.5
        self.rule(BLACK, 0.6)
        self._fresh = self.y

    def _is_fresh(self) -> bool:
        return self.y >= min(self._fresh, TOP - 10)

    def words(self, text: str, ink: str = "", *, is_bold: bool = False) -> None:
        """A paragraph over the whole width."""
        self._lines([Words(text, ink, is_bold)], size=SIZE, leading=LEADING)

    def note(self, text: str, ink: str) -> None:
        """A paragraph that must be seen: a bar at its side."""
        self.y -= 5
        lines = broken(text, BOLD, SIZE, WIDE - 10)
        for line in lines:
            self._need(LEADING)
            self.y -= LEADING
            self._text(MARGIN + 10, self.y, line, BOLD, SIZE, INKS[ink])
            self.canvas.setFillColor(HexColor(INKS[ink]))
            self.canvas.rect(MARGIN, self.y - 2.6, 2.4, LEADING, stroke=0, fill=1)
        self.y -= 3

    def _lines(self, cell: Cell, *, size: float, leading: float, wide: float = WIDE) -> None:
        for words in cell:
            font = BOLD if words.is_bold else SANS
            for line in broken(words.text, font, size, wide):
                self._need(leading)
                self.y -= leading
                self._text(MARGIN, self.y, line, font, size, INKS[words.ink])

    def drawing(self, *scenes: Scene) -> None:
        """Scenes right beneath each other over the whole width, on one sheet."""
        self._need(sum(scene.height for scene in scenes) * SCALE)
        for scene in scenes:
            self.y -= draw_pdf(self.canvas, scene, MARGIN, self.y, WIDE, SANS)

    def box(self, left: float, bottom: float, width: float, height: float) -> None:
        self.canvas.setStrokeColor(HexColor(SOFT))
        self.canvas.setLineWidth(0.6)
        self.canvas.rect(left, bottom, width, height, stroke=1, fill=0)

    def rule(self, ink: str, width: float, wide: float = WIDE) -> None:
        self.canvas.setStrokeColor(HexColor(ink))
        self.canvas.setLineWidth(width)
        self.canvas.line(MARGIN, self.y, MARGIN + wide, self.y)

    @property
    def number(self) -> int:
        """Which sheet is being filled, counted from 1."""
        return self.canvas.ended + 1

    def end(self, front: int = 0) -> bytes:
        """The paper. front: how many of the last sheets are to come first, such as its contents."""
        self.canvas.showPage()
        self.canvas.bring_forward(front)
        self.canvas.save()
        return self._buffer.getvalue()

    def _need(self, room: float) -> None:
        if self.y - room < BOTTOM and self.y < TOP:
            self.turn()

    def turn(self) -> None:
        self.canvas.showPage()
        self.y = TOP
        self._foot()

    def _foot(self) -> None:
        for line in self._running:
            self._text(MARGIN, FOOT, line, SANS, FOOT_SIZE, ACCENT)

    def _text(self, x: float, y: float, text: str, font: str, size: float, ink: str) -> None:
        self.canvas.setFont(font, size)
        self.canvas.setFillColor(HexColor(ink))
        self.canvas.drawString(x, y, text)


def _lines(cell: Cell, width: float) -> list[Words]:
    """The cell broken into lines; words are measured in the font they will stand in."""
    return [
        Words(part, words.ink, words.is_bold)
        for words in cell
        if words.text
        for part in broken(words.text, BOLD if words.is_bold else SANS, SIZE, width)
    ]
