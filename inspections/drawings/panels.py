"""What a settings history is drawn from: plain values, already decided by the caller."""

from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import NamedTuple

AS_FOUND, AS_LEFT = "as_found", "as_left"


@dataclass(frozen=True)
class Point:
    """One reading. `value` None: that stage of that record is missing, and is drawn as missing.

    `label` says the whole reading (read aloud, shown when pointed at); `figure` stands beside the
    mark; `href` opens the record. `outside`: outside the band of its day. `censored`: the true
    value lies above (no lift at that pressure). Points of different `datum` are never joined.
    `unplaced`: read, but not to be put on this scale; it is not drawn and nothing is joined to it.
    """

    on: date
    value: Fraction | None
    stage: str
    label: str
    href: str
    outside: bool = False
    censored: bool = False
    figure: str = ""
    datum: str = ""
    remark: str = ""
    unplaced: bool = False


class Band(NamedTuple):
    """The band in force on the days [from_on, to_on); None means from ever, until now."""

    from_on: date | None
    to_on: date | None
    low: Fraction
    high: Fraction


class Cut(NamedTuple):
    """Before and after this day are not compared, and why."""

    on: date
    reason: str


@dataclass(frozen=True)
class Panel:
    """One series of one setting of one device: `unit` is said after the title."""

    title: str
    unit: str
    points: tuple[Point, ...] = ()
    bands: tuple[Band, ...] = ()
    cuts: tuple[Cut, ...] = field(default=())

    @property
    def ordered(self) -> list[Point]:
        """By day; on one day as found comes before as left."""
        return sorted(self.points, key=lambda point: (point.on, point.stage == AS_LEFT))
