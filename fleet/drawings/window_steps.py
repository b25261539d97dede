"""How many members were tested in the window that ends on each day, against how many must be.

A shortfall is seen as a filled gap between the two lines, with a mark and its number; from the day
asked on, the line shows what the windows hold if nobody else is tested.
"""

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import pairwise
from typing import NamedTuple

from fleet.calc.group_windows import Step
from fleet.drawings.axis import day_words
from fleet.drawings.group_lanes import Frame
from fleet.drawings.scene import Line, Mark, Rect, Scene, Text, triangle

HEIGHT, TOP, BASE = 148, 30, 134
WORDY = 9.0  # percent: narrower gaps are marked without words


class Stretch(NamedTuple):
    """A step over the days it holds, [begins, ends), within the axis."""

    begins: date
    ends: date
    step: Step
    is_ahead: bool


def window_steps(frame: Frame, steps: Sequence[Step]) -> Scene:
    stretches = list(_stretches(frame, steps))
    most = max([max(s.step.held, s.step.needed) for s in stretches], default=0)
    scale = _Scale(max(most, 1))
    marks: list[Mark] = [*frame.ground(), *_grid(scale)]
    for number, stretch in enumerate(stretches):
        begun = number and stretches[number - 1].step.short
        marks += _short(frame, scale, stretch, is_new=not begun)
    for before, after in pairwise(stretches):
        x = frame.axis.x(after.begins)
        marks += _riser(scale, x, before.step.needed, after.step.needed, "needed")
        css = "held ahead" if after.is_ahead else "held"
        marks += _riser(scale, x, before.step.held, after.step.held, css)
    for begins, ends, step, is_ahead in stretches:
        left, right = frame.axis.x(begins), frame.axis.x(ends)
        if step.size:
            marks.append(Line(left, scale.y(step.needed), right, scale.y(step.needed), "needed"))
            css = "held ahead" if is_ahead else "held"
            marks.append(Line(left, scale.y(step.held), right, scale.y(step.held), css))
    marks += _words(frame, scale, stretches)
    return Scene(_label(frame, stretches), HEIGHT, tuple(marks), "worked windows")


class _Scale(NamedTuple):
    most: int

    def y(self, number: int) -> float:
        return BASE - (BASE - TOP) * number / self.most


def _stretches(frame: Frame, steps: Sequence[Step]) -> Iterator[Stretch]:
    axis, as_of = frame.axis, frame.as_of
    ends = [*(step.on for step in steps[1:]), date.max]
    for step, end in zip(steps, ends, strict=True):
        begins, until = axis.clamp(step.on), axis.clamp(end)
        if begins >= until:
            continue
        if begins <= as_of < until:
            if begins < as_of:
                yield Stretch(begins, as_of, step, False)
            yield Stretch(as_of, until, step, True)
        else:
            yield Stretch(begins, until, step, begins > as_of)


def _grid(scale: _Scale) -> list[Mark]:
    """A rule for each number, or for nought and the most alone."""
    numbers = range(scale.most + 1) if scale.most <= 6 else (0, scale.most)
    return [Line(0, scale.y(number), 100, scale.y(number), "scale") for number in numbers]


def _riser(scale: _Scale, x: float, one: int, other: int, css: str) -> list[Mark]:
    return [Line(x, scale.y(one), x, scale.y(other), css)] if one != other else []


def _short(frame: Frame, scale: _Scale, stretch: Stretch, *, is_new: bool) -> list[Mark]:
    step = stretch.step
    if not step.short:
        return []
    left, right = frame.axis.x(stretch.begins), frame.axis.x(stretch.ends)
    top, bottom = scale.y(step.needed), scale.y(step.held)
    css = "short ahead" if stretch.is_ahead else "short"
    marks: list[Mark] = [Rect(left, top, max(right - left, 0.4), bottom - top, css)]
    if is_new and not stretch.is_ahead:
        marks.append(triangle(left, top - 9, "found outside"))
        if right - left > WORDY:
            marks.append(Text(left, top - 5, f"{step.short} short", "outside", "start", 12))
    return marks


def _words(frame: Frame, scale: _Scale, stretches: Sequence[Stretch]) -> list[Mark]:
    now = [stretch for stretch in stretches if stretch.begins <= frame.as_of]
    if not now:
        return []
    step, x = now[-1].step, frame.axis.x(frame.as_of)
    said = f"{step.held} in the {frame.words} to {day_words(frame.as_of)}, {step.needed} needed"
    marks: list[Mark] = [Text(x, 12, said, "today", "end", -6)]
    ahead = next((s for s in stretches if s.is_ahead and s.step.short), None)
    if ahead is not None and not step.short:
        at = frame.axis.x(ahead.begins)
        words = f"too few from {day_words(ahead.begins)} unless tested"
        marks.append(Text(at, 27, words, "", "middle" if at < 85 else "end"))
    return marks


def _label(frame: Frame, stretches: Sequence[Stretch]) -> str:
    past = [s for s in stretches if not s.is_ahead and s.step.short]
    gaps = "; ".join(
        f"{s.step.short} too few from {day_words(s.begins)} to {day_words(s.ends)}" for s in past
    )
    return (
        f"how many were tested in the {frame.words} before each day, against the number needed:"
        f" {gaps or 'never too few'}"
    )
