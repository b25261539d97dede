"""What a settings history is drawn from: plain values, already decided by the caller."""

from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import NamedTuple

AS_FOUND, AS_LEFT = "as_found", "as_left"


class Run(NamedTuple):
    """One device's stay in a position over [from_on, to_on); `href` opens the device."""

    device: str
    href: str
    from_on: date
    to_on: date | None


@dataclass(frozen=True)
class Point:
    """One reading. `value` None: that stage of that record is missing, and is drawn as missing.

    `label` says the whole reading (read aloud, shown when pointed at); `figure` stands beside the
    mark; `href` opens the record. `outside`: outside the band of its day. `censored`: the true
    value lies above (no lift at that pressure). Points of different `datum` are never joined.
    `unplaced`: read, but not to be put on this scale; it is not drawn and nothing is joined to it.
    `run`: in a position's own history, the stay it belongs to; points of two runs are never joined.
    `read_on`: the day it was read, where it stands on another (`on`).
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
    run: Run | None = None
    read_on: date | None = None

    @property
    def day(self) -> date:
        return self.read_on or self.on

    @property
    def opens_its_run(self) -> bool:
        """It stands where its device came, on the far side of that cut."""
        return self.run is not None and self.run.from_on == self.on


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
    """One setting of one device or one position: `unit` is said after the title."""

    title: str
    unit: str
    points: tuple[Point, ...] = ()
    bands: tuple[Band, ...] = ()
    cuts: tuple[Cut, ...] = field(default=())

    @property
    def ordered(self) -> list[Point]:
        """By day; on one day as found comes before as left, and who leaves before who comes."""
        return sorted(
            self.points,
            key=lambda point: (point.on, point.opens_its_run, point.stage == AS_LEFT, point.day),
        )

    @property
    def runs(self) -> list[Run]:
        """The stays its points belong to, in the order they began; none for a device's own."""
        held = {point.run for point in self.points if point.run}
        return sorted(held, key=lambda run: (run.from_on, run.device))
