"""Where the words of cuts stand, so that none lies over another however near the cuts are.

Places across are shares of the width and words keep their size, so two labels that stand apart on
the narrowest drawing stand apart on every wider one: rows are dealt out for that one.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby
from textwrap import wrap

from fleet.drawings.axis import TimeAxis
from fleet.drawings.scene import Glyph, Text, double_stroke
from inspections.drawings.panels import Cut

NARROWEST = 300  # pixels: the drawing on a small phone
LETTER = 7.2  # pixels across of the drawing's letters, on the safe side
ROW = 14
BELOW_LAST = 8  # pixels more than a drawing without cuts, for figures beneath the last row
FIRST_ROW = 14  # down to the foot of the first row's letters
ASIDE = 12.0  # from the cut to its words
STROKE = 8.0  # half a cut, across
LEFT_PART = 50.0  # percent: further right, words stand before their cut


@dataclass(frozen=True)
class CutLabel:
    """The words of one day's cuts, in lines; `row` is that of the first line (0 on top)."""

    on: date
    x: float
    lines: tuple[str, ...]
    row: int = 0

    @property
    def is_before(self) -> bool:
        return self.x > LEFT_PART

    @property
    def extent(self) -> tuple[float, float]:
        """Pixels from its left to its right end on the narrowest drawing, its cut included."""
        at, reach = self.x / 100 * NARROWEST, ASIDE + max(map(len, self.lines)) * LETTER
        return (at - reach, at + STROKE) if self.is_before else (at - STROKE, at + reach)

    @property
    def row_after(self) -> int:
        return self.row + len(self.lines)

    def texts(self) -> list[Text]:
        anchor, aside = ("end", -ASIDE) if self.is_before else ("start", ASIDE)
        feet = (FIRST_ROW + row * ROW for row in range(self.row, self.row_after))
        return [
            Text(self.x, foot, line, "cut", anchor, aside)
            for foot, line in zip(feet, self.lines, strict=True)
        ]

    def stroke(self, bottom: float) -> Glyph:
        """From its own row down: no cut runs through the words of the rows above."""
        top = FIRST_ROW + self.row * ROW - 6
        return double_stroke(self.x, (top + bottom) / 2, (bottom - top) / 2, "cut")


def cut_labels(cuts: Sequence[Cut], axis: TimeAxis) -> list[CutLabel]:
    """One label a day. Each stands beneath all it would touch: the outermost have the first row."""
    labels = [_of_day(on, list(same), axis) for on, same in groupby(sorted(cuts), lambda c: c.on)]
    outermost = sorted(labels, key=lambda label: -label.x if label.is_before else label.x)
    placed: list[CutLabel] = []
    for label in outermost:
        above = [other.row_after for other in placed if _touch(label, other)]
        placed.append(replace(label, row=max(above, default=0)))
    return placed


def room_for(labels: Sequence[CutLabel]) -> int:
    """Pixels from the top that the labels take from the readings and their figures."""
    rows = max((label.row_after for label in labels), default=0)
    return rows * ROW - (ROW - BELOW_LAST) if rows else 0


def _of_day(on: date, cuts: Sequence[Cut], axis: TimeAxis) -> CutLabel:
    x = axis.x(on)
    room = x if x > LEFT_PART else 100 - x
    most = int((room / 100 * NARROWEST - ASIDE) / LETTER)
    words = ", ".join(dict.fromkeys(cut.reason for cut in cuts))
    return CutLabel(on, x, tuple(wrap(words, most)) or ("",))


def _touch(one: CutLabel, other: CutLabel) -> bool:
    (left, right), (begin, end) = one.extent, other.extent
    return left < end and begin < right
