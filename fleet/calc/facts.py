"""The dated facts a clock runs on, and what is owed. Half-open: from_on is in, until_on out."""

from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from fleet.calc.durations import Duration
from fleet.calc.intervals import Shape

DONE_ON, INSTALLED_ON, COMMISSIONED_ON = "done_on", "installed_on", "commissioned_on"


class Spell(NamedTuple):
    """One device in one position over [installed_on, removed_on)."""

    device: int
    position: int
    installed_on: date
    removed_on: date | None


class Event(NamedTuple):
    """A counted activity, earned by a device or by a position; the other is None."""

    id: int
    device: int | None
    position: int | None
    activity: str
    done_on: date


class Decision(NamedTuple):
    """From a day on another interval holds; `act_by` where that is already past by then."""

    id: int
    from_on: date
    interval: Duration
    act_by: date | None


class Standing(NamedTuple):
    """From a day on (None = always) the position is required, or not."""

    from_on: date | None
    required: bool


@dataclass(frozen=True)
class Owed:
    """One activity owed at one position under one rule, over [from_on, until_on).

    shelf_limit: only where it counts from the day the device entered service.
    """

    activity: str
    shape: Shape
    counts_from: str
    shelf_limit: Duration | None
    commissioned_on: date | None
    from_on: date | None
    until_on: date | None
