"""How far from its set pressure a device may open: one band, about set in the middle.

One scale for all rows of a tolerance that are said in one unit, so that they compare down the page.
"""

from fractions import Fraction

from fleet.drawings.scene import Line, Mark, Rect, Scene, Text

HEIGHT, TOP, THICK = 46, 6, 20
HALF = 34  # percent of the width for the furthest edge: the figures stand beyond it


def tolerance_band(low: Fraction, high: Fraction, low_words: str, high_words: str) -> Scene:
    """low from -1 to 0 and high from 0 to 1, as shares of the widest edge on its scale."""
    left, right = 50 + float(low) * HALF, 50 + float(high) * HALF
    middle, bottom = TOP + THICK / 2, TOP + THICK
    marks: list[Mark] = [
        Line(4, middle, 96, middle, "scale"),
        Rect(left, TOP, right - left, THICK, "band"),
        Line(left, TOP, left, bottom, "edge"),
        Line(right, TOP, right, bottom, "edge"),
        Line(50, TOP - 4, 50, bottom + 4, "centre"),
        Text(50, HEIGHT - 2, "set", "", "middle"),
        Text(left, middle + 4, low_words, "", "end", -6),
        Text(right, middle + 4, high_words, "", "start", 6),
    ]
    return Scene(
        f"from {low_words} to {high_words} of set pressure", HEIGHT, tuple(marks), "worked"
    )
