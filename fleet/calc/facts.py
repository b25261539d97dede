"""The dated facts a clock runs on, and what is owed. Half-open: from_on is in, until_on out."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from fleet.calc.durations import Duration
from fleet.calc.intervals import Reading, Shape, Trigger

DONE_ON, INSTALLED_ON, COMMISSIONED_ON = "done_on", "installed_on", "commissioned_on"


class Spell(NamedTuple):
    """One device in one position over [installed_on, removed_on)."""

    device: int
    position: int
    installed_on: date
    removed_on: date | None


class Found(NamedTuple):
    """What the first pop said. percent: deviation from the cold test pressure, where known.

    is_bound: it had not opened at that pressure. verdict: high, low, in or none, by the owner's
    band in force that day.
    """

    percent: Fraction | None
    is_bound: bool
    verdict: str


class Event(NamedTuple):
    """An activity, earned by a device or by a position; the other is None.

    One that does not count resets no clock; it only tells a sampled group what was `found`.
    """

    id: int
    device: int | None
    position: int | None
    activity: str
    done_on: date
    found: Found | None = None
    is_counted: bool = True


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


class Idle(NamedTuple):
    """Days [from_on, to_on) out of service; what that does to a clock is the rule's to say."""

    from_on: date
    to_on: date | None


class Place(NamedTuple):
    """What happened at the position beside the work, in any order."""

    idles: Sequence[Idle] = ()
    readings: Sequence[Reading] = ()
    triggers: Sequence[Trigger] = ()


@dataclass(frozen=True)
class Owed:
    """One activity owed at one position under one rule, over [from_on, until_on).

    shelf_limit: only where it counts from the day the device entered service. season: its first
    day, MM-DD. in_service_on: the position's own, from which its age counts.
    """

    activity: str
    shape: Shape
    counts_from: str
    shelf_limit: Duration | None
    commissioned_on: date | None
    from_on: date | None
    until_on: date | None
    season: str = ""
    in_service_on: date | None = None
