"""Chance without surprises: the same throws on every machine, for ever.

Only `random.Random.random()` is used, the one sequence Python promises to keep, and each thing
throws its own dice, so that a new valve does not move the history of every other one.
"""

from collections.abc import Sequence
from random import Random
from typing import TypeVar

Face = TypeVar("Face")
SEED = "vellin strand 1"


class Dice:
    def __init__(self, *key: object) -> None:
        self._random = Random("/".join([SEED, *map(str, key)]))

    def chance(self, percent: float) -> bool:
        return self._random.random() * 100 < percent

    def whole(self, low: int, high: int) -> int:
        """A whole number, both ends included."""
        return low + int(self._random.random() * (high - low + 1))

    def pick(self, faces: Sequence[Face]) -> Face:
        return faces[self.whole(0, len(faces) - 1)]

    def bell(self, spread: int) -> int:
        """A normal throw about zero, in whole steps: the sum of twelve even throws less six."""
        return round((sum(self._random.random() for _ in range(12)) - 6) * spread)
