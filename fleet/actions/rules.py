"""The library comes into use: naming a rule or tolerance first copies it into the register."""

from collections.abc import Iterable
from datetime import datetime

from fleet import audit
from fleet.calc import library
from fleet.models import IntervalRule, ToleranceBand, User


@audit.writing()
def rules_in_use(codes: Iterable[str], *, by: User, at: datetime) -> dict[str, IntervalRule]:
    """Interval rules by code. A code that neither register nor library knows is left out."""
    wanted = set(codes)
    found = {rule.code: rule for rule in IntervalRule.objects.filter(code__in=wanted)}
    fresh = [
        IntervalRule(
            code=code,
            kind=row.kind,
            parameters=dict(row.parameters),
            citation=row.citation,
            edition=row.edition,
            is_verified=row.verified,
            recorded_at=at,
            recorded_by=by,
        )
        for code, row in library.rules().items()
        if code in wanted - set(found)
    ]
    IntervalRule.objects.bulk_create(fresh)
    audit.record((audit.change("rule taken into use", rule) for rule in fresh), by=by, at=at)
    return found | {rule.code: rule for rule in fresh}


@audit.writing()
def tolerances_in_use(codes: Iterable[str], *, by: User, at: datetime) -> dict[str, ToleranceBand]:
    """Tolerances by code. A code that neither register nor library knows is left out."""
    wanted = set(codes)
    found = {band.code: band for band in ToleranceBand.objects.filter(code__in=wanted)}
    fresh = [
        ToleranceBand(
            code=code,
            definition=dict(row.definition),
            citation=row.citation,
            edition=row.edition,
            is_verified=row.verified,
            recorded_at=at,
            recorded_by=by,
        )
        for code, row in library.tolerances().items()
        if code in wanted - set(found)
    ]
    ToleranceBand.objects.bulk_create(fresh)
    audit.record((audit.change("tolerance taken into use", row) for row in fresh), by=by, at=at)
    return found | {band.code: band for band in fresh}


def known_rules() -> list[str]:
    return sorted({*library.rules(), *IntervalRule.objects.values_list("code", flat=True)})


def known_tolerances() -> list[str]:
    return sorted({*library.tolerances(), *ToleranceBand.objects.values_list("code", flat=True)})
