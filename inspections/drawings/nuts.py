"""Nuts on their circle, each with its turn in the order of tightening. Square: 100 % is SIZE."""

from math import cos, pi, sin

from fleet.drawings.scene import Circle, Line, Mark, Scene, Text
from inspections.calc.tightening import tightening

SIZE = 280.0  # pixels either way; the style sheet gives it that width
MIDDLE, CIRCLE, NUT = SIZE / 2, 112.0, 14.0
SMALL = 20  # with more nuts than this they are drawn smaller


def nuts_drawing(nuts: int) -> Scene:
    """The first nut at the top, counted clockwise; lines join the first two pairs.

    Raises ValueError outside 3..32 nuts.
    """
    order = tightening(nuts)
    places = [_place(nut, nuts) for nut in order]
    radius = NUT if nuts <= SMALL else NUT * 0.72
    marks: list[Mark] = [Circle(50, MIDDLE, CIRCLE, "nut-circle")]
    for (x, y), (to_x, to_y) in zip(places[0:4:2], places[1:4:2], strict=False):
        marks.append(Line(_across(x), y, _across(to_x), to_y, "nut-pair"))
    for turn, (x, y) in enumerate(places, start=1):
        css = "nut first" if turn == 1 else "nut"
        marks += [
            Circle(_across(x), y, radius, css),
            Text(_across(x), y + 4, str(turn), css, anchor="middle"),
        ]
    said = ", ".join(map(str, order))
    label = f"{nuts} nuts numbered clockwise from the top, tightened in the order {said}"
    return Scene(label, SIZE, tuple(marks), css="nuts")


def _place(nut: int, nuts: int) -> tuple[float, float]:
    angle = 2 * pi * (nut - 1) / nuts
    return MIDDLE + CIRCLE * sin(angle), MIDDLE - CIRCLE * cos(angle)


def _across(x: float) -> float:
    return round(x / SIZE * 100, 2)
