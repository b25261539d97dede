"""Failing together: does a group fail one way more than chance would have it, and what is shared?

An outcome is one device's answer at one visit: its first pop out of the band of its day, or a
setting that moved in service beyond its resolution; high (+1), low (-1) or neither (0). It belongs
to a group by what its record names, and to none where the record does not say:
- one model in one outage (several failures of one model and sign in one outage raise the question:
  US plant event reports);
- one bench in one year, one gauge in one year: what stands wrong there until it is put right;
- one model counted from one datum: a convention that not everybody reads the same way.

A device counts once in a group, by its last outcome there, or one bad device would be a group of
its own. The fleet is every outcome of the same pool that names such a thing at all. Were the
fleet's failures of that sign dealt out by lot, P is that the group got as many (exact
hypergeometric, the group itself included).
"""

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from inspections.calc.chance import group_tail
from inspections.calc.discovery import Discoveries, discoveries

MODEL_IN_OUTAGE, BENCH, GAUGE, CONVENTION = "model_in_outage", "bench", "gauge", "convention"
TOGETHER = 2  # one failure is nobody's company


@dataclass(frozen=True)
class Outcome:
    """One visit of one series. `pool` is the fleet it is judged against: its setting.

    "" for what the record does not name.
    """

    key: Hashable
    pool: str
    on: date
    sign: int
    model: str = ""
    outage: str = ""
    bench: str = ""
    gauge: str = ""
    datum: str = ""


class Group(NamedTuple):  # hashed once for every outcome, and there are many
    """What outcomes share: its kind and the names that make it, as the record gives them."""

    kind: str
    pool: str
    names: tuple[str, ...]


@dataclass(frozen=True)
class CommonCause:
    """`failed` of `of` in the group with one sign, `fleet_failed` of `fleet_of` in the fleet.

    keys: the series that failed so, in order of their day.
    """

    group: Group
    sign: int
    failed: int
    of: int
    fleet_failed: int
    fleet_of: int
    p: float
    q: float
    keys: tuple[Hashable, ...]


def groups_of(outcome: Outcome) -> Iterator[Group]:
    """Every group this outcome belongs to."""
    year = str(outcome.on.year)
    for kind, names in (
        (MODEL_IN_OUTAGE, (outcome.model, outcome.outage)),
        (BENCH, (outcome.bench, year)),
        (GAUGE, (outcome.gauge, year)),
        (CONVENTION, (outcome.model, outcome.datum)),
    ):
        if all(names):
            yield Group(kind, outcome.pool, names)


@dataclass(frozen=True)
class Together:
    """Everything that was asked: one entry for each group and sign, `found` those flagged."""

    p: NDArray[np.float64]
    found: tuple[CommonCause, ...]
    answer: Discoveries


def common_causes(outcomes: Iterable[Outcome], budget: float) -> Together:
    """Groups of two devices or more that fail together beyond chance, least likely first.

    All of them are judged, also those where nobody failed: leaving those out because of what they
    show would spend the budget twice.
    """
    members = _members(outcomes)
    fleet_of, fleet_failed = _fleet(members)
    asked = [
        (group, sign, tuple(one.key for one in several if one.sign == sign), len(several))
        for group, several in members.items()
        if len(several) >= TOGETHER
        for sign in (1, -1)
    ]
    fleets = [
        (fleet_failed[g.kind, g.pool, sign], fleet_of[g.kind, g.pool]) for g, sign, *_ in asked
    ]
    p = group_tail(
        np.array([len(keys) for _, _, keys, _ in asked], int),
        np.array([of for *_, of in asked], int),
        np.array([failed for failed, _ in fleets], int),
        np.array([of for _, of in fleets], int),
    )
    answer = discoveries(p, budget)
    found = [
        CommonCause(group, sign, len(keys), of, *fleet, float(p[i]), float(answer.q[i]), keys)
        for i, ((group, sign, keys, of), fleet) in enumerate(zip(asked, fleets, strict=True))
        if answer.flagged[i] and len(keys) >= TOGETHER
    ]
    return Together(p, tuple(sorted(found, key=lambda one: one.p)), answer)


def _members(outcomes: Iterable[Outcome]) -> dict[Group, list[Outcome]]:
    """The last outcome of each series in each group, oldest first."""
    last: dict[Group, dict[Hashable, Outcome]] = defaultdict(dict)
    for outcome in sorted(outcomes, key=lambda one: one.on):
        for group in groups_of(outcome):
            last[group].pop(outcome.key, None)
            last[group][outcome.key] = outcome
    return {group: list(several.values()) for group, several in last.items()}


def _fleet(
    members: dict[Group, list[Outcome]],
) -> tuple[Counter[tuple[str, str]], Counter[tuple[str, str, int]]]:
    """How many outcomes of each kind and pool, and how many of them failed with each sign."""
    of: Counter[tuple[str, str]] = Counter()
    failed: Counter[tuple[str, str, int]] = Counter()
    for group, several in members.items():
        of[group.kind, group.pool] += len(several)
        failed.update((group.kind, group.pool, one.sign) for one in several)
    return of, failed
