"""A measured figure against the limit of its model: judged as it was typed, exactly."""

import re
from dataclasses import dataclass

from fleet.calc.units import (
    GAUGE,
    LENGTH,
    PERCENT,
    SPRING_RATE,
    TURNS,
    Quantity,
    UnitsError,
    parse_quantity,
)

LIMITED = (LENGTH, PERCENT, SPRING_RATE, TURNS, GAUGE)  # what a limit may be stated in
IN, UNDER, OVER, UNREAD = "in_limit", "under_limit", "over_limit", "unread"


@dataclass(frozen=True)
class Limit:
    """What one measurement of one part may read; at least one end, both inclusive."""

    part: str
    measure: str
    low: Quantity | None
    high: Quantity | None
    source: str

    def words(self) -> str:
        """“118.5 mm or more (maker's drawing)”"""
        if self.low is not None and self.high is not None:
            said = f"{self.low} to {self.high}"
        else:
            said = f"{self.low} or more" if self.low is not None else f"{self.high} or less"
        return f"{said} ({self.source})"


@dataclass(frozen=True)
class Judgement:
    """in_limit, under_limit, over_limit, or unread; in words that name limit and source."""

    kind: str
    words: str

    @property
    def is_out(self) -> bool:
        return self.kind in (UNDER, OVER)

    @property
    def wants_answer(self) -> bool:
        """Out of its limit, or not to be held against it: somebody says why it stays."""
        return self.kind != IN


def key_of(part: str, measure: str) -> str:
    """The same part and measure however they are spelled: “Free height”, “free-height”."""
    plain = [re.sub(r"[^a-z0-9]+", "_", word.strip().casefold()) for word in (part, measure)]
    return "_".join(plain).strip("_")


def read_limit(part: str, measure: str, low: str, high: str, source: str) -> Limit:
    """A stored limit. Raises UnitsError where an end cannot be read."""
    ends = [parse_quantity(end, LIMITED) if end else None for end in (low, high)]
    return Limit(part, measure, ends[0], ends[1], source)


def judge(figure: str, limit: Limit) -> Judgement:
    """Hold a figure against its limit, in the unit it was typed in.

    A figure without a unit, or in another kind of unit, is never guessed: it is unread.
    """
    end = limit.low if limit.low is not None else limit.high
    if end is None:
        raise ValueError("a limit has at least one end")
    try:
        read = parse_quantity(figure, (end.dimension,))
        return _held(read, limit)
    except UnitsError as error:
        words = f"{figure.strip()}: not held against {limit.words()}: expected {error.expected}"
        return Judgement(UNREAD, words)


def _held(read: Quantity, limit: Limit) -> Judgement:
    for end, kind, where in ((limit.low, UNDER, "under"), (limit.high, OVER, "over")):
        if end is None:
            continue
        off = end.to(read.unit) - read if kind == UNDER else read - end.to(read.unit)
        if off.magnitude > 0:
            by = Quantity.of(off.magnitude, read.unit)
            side = "low" if kind == UNDER else "high"
            words = f"{read}: {by} {where} the {side} limit of {end} ({limit.source})"
            return Judgement(kind, words)
    return Judgement(IN, f"{read}: within {limit.words()}")
