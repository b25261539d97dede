"""The whole fleet screened for what only all of it together can show.

The same for what is kept and for a past day in memory: both hand over the numbers of every series
in order of device and setting, so that not even the last bit of a sum differs.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

import numpy as np

from inspections.calc.common_cause import Outcome
from inspections.calc.flags import COMMON_CAUSE, RESETS_ABOVE_FLEET, TRENDING, Flag
from inspections.calc.screening import BUDGET, Fleet, Screen, screen
from inspections.calc.service_drift import Drifts
from inspections.reports.first_pops import first_pops, recent
from inspections.reports.screening_words import (
    Names,
    names,
    reset_words,
    together_words,
    trend_words,
)
from inspections.reports.settings import SettingRow, worst_first

Key = tuple[int, str]  # device, setting


class Line(NamedTuple):
    """The numbers of one series; see `inspections.calc.series_numbers`."""

    device: int
    setting: str
    model: int | None
    family: str
    changes: int
    per_year: float | None
    variance: float | None
    spread: float | None
    at_floor: bool
    resets: int
    reset_of: int
    moved: Sequence[Sequence[Any]]

    @property
    def key(self) -> Key:
        return self.device, self.setting


@dataclass(frozen=True)
class Statistic:
    """A flag with the device's own numbers that it rests on."""

    code: str
    reasons: tuple[str, ...]
    own: tuple[Any, ...]


@dataclass(frozen=True)
class Screened:
    """What was found on each setting, and the screen it was found by."""

    found: Mapping[Key, tuple[Statistic, ...]]
    screen: Screen


def screened_lines(lines: Sequence[Line], as_of: date, budget: float = BUDGET) -> Screened:
    """Screen these series, in this order, with the first pops of the years before that day."""
    outcomes = [*first_pops(as_of), *_moves(lines, as_of)]
    fleet = Fleet(
        [line.key for line in lines],
        [line.family for line in lines],
        _drifts(lines),
        [line.setting for line in lines],
        np.array([line.resets for line in lines], np.int64),
        np.array([line.reset_of for line in lines], np.int64),
        outcomes,
    )
    judged = screen(fleet, budget)
    return Screened(_found(judged, {line.key: line for line in lines}, outcomes), judged)


def screened(rows: Iterable[SettingRow], as_of: date) -> Sequence[SettingRow]:
    """The rows of a whole fleet with what the screen of that day finds, worst first."""
    rows = list(rows)
    lines = [_line(row) for row in sorted(rows, key=lambda row: (row.device_id, row.setting))]
    found = screened_lines(lines, as_of).found
    flags = {key: [Flag(s.code, s.reasons) for s in several] for key, several in found.items()}
    return worst_first(
        row.raising(flags[row.device_id, row.setting])
        if (row.device_id, row.setting) in flags
        else row
        for row in rows
    )


def _line(row: SettingRow) -> Line:
    return Line(row.device_id, row.setting, row.model_id, **vars(row.numbers))


def _drifts(lines: Sequence[Line]) -> Drifts:
    return Drifts(
        np.array([line.changes for line in lines], np.int64),
        np.array([line.per_year for line in lines], float),
        np.array([line.variance for line in lines], float),
        np.array([line.spread for line in lines], float),
        np.array([line.at_floor for line in lines], bool),
    )


def _moves(lines: Iterable[Line], as_of: date) -> Iterator[Outcome]:
    """Movements in service of the settings of a model, by what they are counted from."""
    since = recent(as_of).isoformat()
    for line in lines:
        for on, sign, datum in line.moved:
            if on > since and line.model:
                day = date.fromisoformat(on)
                yield Outcome(line.key, line.setting, day, sign, str(line.model), datum=datum)


def _found(
    judged: Screen, lines: Mapping[Key, Line], outcomes: Iterable[Outcome]
) -> dict[Key, tuple[Statistic, ...]]:
    found: dict[Any, list[Statistic]] = defaultdict(list)
    for one in judged.trending:
        line = lines[one.key]  # type: ignore[index]
        own = (line.family, line.changes, line.per_year, line.variance, line.spread)
        found[one.key].append(Statistic(TRENDING, (trend_words(one, line.family),), own))
    for above in judged.resets_above_fleet:
        own_resets = (above.resets, above.reset_of)
        found[above.key].append(Statistic(RESETS_ABOVE_FLEET, (reset_words(above),), own_resets))
    for key, together in _together(judged, outcomes, names(judged.common_causes)).items():
        if key in lines:
            found[key].append(together)
    return {key: tuple(several) for key, several in found.items()}


def _together(judged: Screen, outcomes: Iterable[Outcome], said: Names) -> dict[Any, Statistic]:
    """One flag for each setting, however many groups it failed in."""
    if not judged.common_causes:
        return {}
    last: dict[tuple, str] = {}
    for one in outcomes:
        at = (one.key, one.sign)
        last[at] = max(last.get(at, ""), one.on.isoformat())
    reasons, own = defaultdict(list), defaultdict(list)
    for cause in judged.common_causes:
        for key in dict.fromkeys(cause.keys):
            reasons[key].append(together_words(cause, said))
            own[key] += [cause.group.kind, *cause.group.names, cause.sign, last[key, cause.sign]]
    return {key: Statistic(COMMON_CAUSE, tuple(reasons[key]), tuple(own[key])) for key in reasons}
