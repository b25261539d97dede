"""Which device stood in a position when: a strip over the axis of the position's history."""

from collections.abc import Sequence
from datetime import date

from fleet.drawings.axis import TimeAxis, day_words
from fleet.drawings.scene import Line, Link, Mark, Rect, Scene, Text
from inspections.drawings.cut_labels import NARROWEST
from inspections.drawings.panels import Run

HEIGHT = 44
TOP, BAR = 12, 20
PADDING = 4  # pixels from a bar's end to its words
LETTER = 6.2  # pixels across: a name that reaches a little into the next bar does no harm


def stays_strip(runs: Sequence[Run], axis: TimeAxis, today: date) -> Scene:
    """A bar for each stay, which opens its device; its name where even a phone has room for it."""
    return Scene(
        f"{len(runs)} stays of devices",
        HEIGHT,
        (*axis.year_rules, *(_stay(run, axis, today) for run in runs)),
    )


def _stay(run: Run, axis: TimeAxis, today: date) -> Link:
    left = axis.x(axis.clamp(run.from_on))
    right = axis.x(axis.clamp(run.to_on or today))
    marks: list[Mark] = [
        Rect(left, TOP, right - left, BAR, "stay"),
        Rect(left, 0, right - left, HEIGHT, "hit"),
        Line(left, TOP - 4, left, TOP + BAR + 4, "came"),
    ]
    room = (right - left) / 100 * NARROWEST - 2 * PADDING
    if len(run.device) * LETTER <= room:
        marks.append(Text(left, TOP + 14, run.device, "stay", dx=PADDING))
    until = f"until {day_words(run.to_on)}" if run.to_on else "still fitted"
    return Link(run.href, f"{run.device}, from {day_words(run.from_on)} {until}", tuple(marks))
