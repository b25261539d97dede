"""The first pops of a group on one axis: a dot each, the middle half as a bar, its median a line.

One scale for a whole column. What lies beyond it is a chevron at the edge; "no lift" is a ring with
its line to the right, for the true value lies above. Many dots of one place stand on one another.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from fractions import Fraction

from fleet.drawings.scene import Circle, Line, Mark, Rect, Scene, chevron
from fleet.drawings.words import percent_words
from inspections.calc.populations import Population

HEIGHT, MIDDLE = 44, 22
STEPS = 160  # places across that can be told apart
TALLEST = 7  # dots on one another


def deviation_strip(group: Population, span: Fraction) -> Scene:
    marks: list[Mark] = [
        Line(0, MIDDLE, 100, MIDDLE, "scale"),
        Line(50, 4, 50, HEIGHT - 4, "centre"),
    ]
    if group.quartiles:
        low, middle, high = (_x(value, span) for value in group.quartiles)
        marks += [
            Rect(low, MIDDLE - 11, high - low, 22, "band"),
            Line(middle, MIDDLE - 13, middle, MIDDLE + 13, "due"),
        ]
    marks += _dots(group.exact, span)
    for bound in group.bounds:
        x = _x(min(bound, span), span)
        marks += [Circle(x, MIDDLE, 3, "censored"), Line(x, MIDDLE, 99, MIDDLE, "censored")]
    if group.bounds:
        marks.append(chevron(100, MIDDLE, "censored"))
    return Scene(_words(group), HEIGHT, tuple(marks), "deviations")


def _x(value: Fraction, span: Fraction) -> float:
    return 50 + float(max(-span, min(span, value)) / span) * 47


def _dots(values: Sequence[tuple[Fraction, int]], span: Fraction) -> Iterable[Mark]:
    places: Counter[int] = Counter()
    for value, many in values:
        if abs(value) <= span:
            places[round(_x(value, span) / 100 * STEPS)] += many
    for place, count in sorted(places.items()):
        for level in range(min(count, TALLEST)):
            yield Circle(place / STEPS * 100, HEIGHT - 6 - 5 * level, 2.4, "found")
    if any(value > span for value, _ in values):
        yield chevron(100, MIDDLE, "beyond late")
    if any(value < -span for value, _ in values):
        yield chevron(0, MIDDLE, "beyond late", points_left=True)


def _words(group: Population) -> str:
    said = [f"{group.name}: {group.n} first pops"]
    if group.quartiles:
        low, middle, high = group.quartiles
        said.append(
            f"median {percent_words(middle)}, half between {percent_words(low)} and"
            f" {percent_words(high)}"
        )
    if group.bounds:
        said.append(f"{len(group.bounds)} did not lift")
    return ", ".join(said)
