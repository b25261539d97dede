"""What a planner does by hand: earliest due first, each into the best place that still has room."""

from datetime import date

import numpy as np

from fleet.calc.planning.parts import Numbers, Part
from fleet.calc.planning.pruning import Field


def by_hand(field: Field, part: Part) -> Numbers:
    """A pair for each visit of the part, or -1. In time, the best place is the latest one."""
    at = np.full(len(part.visits), -1, np.int64)
    left = [row.limit for row in part.rows]
    inside: dict[int, list[tuple[int, int]]] = {}
    for number, row in enumerate(part.rows):
        for pair, amount in zip(row.pairs.tolist(), row.amounts, strict=True):
            inside.setdefault(pair, []).append((number, amount))
    for own in sorted(range(len(part.visits)), key=lambda v: (_due(field, part, v), v)):
        for pair in range(part.starts[own], part.starts[own + 1]):
            asked = inside.get(pair, [])
            if all(left[number] >= amount for number, amount in asked):
                for number, amount in asked:
                    left[number] -= amount
                at[own] = pair
                break
    return at


def _due(field: Field, part: Part, own: int) -> date:
    lines = field.visits[part.visits[own]].lines
    return min((line.due_on for line in lines if line.due_on), default=date.max)
