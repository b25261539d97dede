"""What an obligation must say, and must not say, under its rule."""

import re
from collections.abc import Iterable
from datetime import date

from fleet.faults import Fault
from fleet.models import Obligation

SEASONAL, SAMPLED = "before_use", "group_sample"
SEASON = re.compile(r"(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])")
A_SEASON = "the season's first day as MM-DD, a day that every year has, such as 10-01"
COMMON_YEAR = 2023


def is_season(text: str) -> bool:
    """MM-DD, a day that every year has: 29 February is none."""
    if not SEASON.fullmatch(text):
        return False
    try:
        return bool(date.fromisoformat(f"{COMMON_YEAR}-{text}"))
    except ValueError:
        return False


def contradictions(owed: Obligation) -> list[Fault]:
    """Faults of `season` and `group`: each belongs to one kind of rule, and to no other."""
    faults, kind = [], owed.rule.kind
    if kind == SEASONAL and not is_season(owed.season):
        faults.append(Fault("season", owed.season, A_SEASON))
    if kind != SEASONAL and owed.season:
        words = f"nothing: {owed.rule} counts from no season"
        faults.append(Fault("season", owed.season, words, code="contradiction"))
    if kind == SAMPLED and not owed.group:
        words = f"the group that {owed.rule} samples from"
        faults.append(Fault("group", "", words))
    if kind != SAMPLED and owed.group:
        words = f"nothing: {owed.rule} samples no group"
        faults.append(Fault("group", owed.group, words, code="contradiction"))
    return faults


def other_rule(owed: Obligation, others: Iterable[Obligation]) -> Obligation | None:
    """One of the same group and activity that is owed under another rule on some same day."""
    for other in others:
        if other.rule_id != owed.rule_id and _meet(owed, other):
            return other
    return None


def _meet(one: Obligation, other: Obligation) -> bool:
    begins = max(one.from_on or date.min, other.from_on or date.min)
    return begins < min(one.until_on or date.max, other.until_on or date.max)
