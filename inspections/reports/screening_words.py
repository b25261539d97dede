"""Statistics in words, each with the numbers that it stands on."""

from collections.abc import Iterable
from dataclasses import dataclass

from fleet.models import DeviceModel, Outage
from inspections.calc.common_cause import BENCH, CONVENTION, GAUGE, MODEL_IN_OUTAGE, CommonCause
from inspections.calc.screening import ResetsAbove, Trending
from inspections.calc.visits import SET_PRESSURE


@dataclass(frozen=True)
class Names:
    """What models and outages are called, by their key."""

    models: dict[str, str]
    outages: dict[str, str]


def names(causes: Iterable[CommonCause]) -> Names:
    """Of those that the found groups are made of: two queries at most."""
    groups = [cause.group for cause in causes]
    models = {one.names[0] for one in groups if one.kind in (MODEL_IN_OUTAGE, CONVENTION)}
    outages = {one.names[1] for one in groups if one.kind == MODEL_IN_OUTAGE}
    return Names(
        {str(one.pk): str(one) for one in DeviceModel.objects.filter(pk__in=models)}
        if models
        else {},
        {str(one.pk): str(one) for one in Outage.objects.filter(pk__in=outages)} if outages else {},
    )


def trend_words(one: Trending, family: str) -> str:
    unit = family.rpartition(" in ")[2]
    return (
        f"drifts {one.per_year:+.3g} {unit} a year over {one.n} movements in service"
        f" (moderated t {one.t:.1f} on {one.df:.1f} degrees of freedom, p {one.p:.2g},"
        f" q {one.q:.2g})"
    )


def reset_words(one: ResetsAbove) -> str:
    return (
        f"reset beyond the resolution in {one.resets} of {one.reset_of} overhauls, where the rest"
        f" of the fleet is in {one.rate:.1%} (p {one.p:.2g}, q {one.q:.2g})"
    )


def together_words(cause: CommonCause, said: Names) -> str:
    return (
        f"{cause.failed} of {cause.of} {_shared(cause, said)} {_failed(cause)}, in the fleet"
        f" {cause.fleet_failed} of {cause.fleet_of} (p {cause.p:.2g}, q {cause.q:.2g})"
    )


def _shared(cause: CommonCause, said: Names) -> str:
    first, second = cause.group.names
    if cause.group.kind == MODEL_IN_OUTAGE:
        return f"devices of {said.models.get(first, first)} in {said.outages.get(second, second)}"
    if cause.group.kind == CONVENTION:
        return f"devices of {said.models.get(first, first)} counted from {second}"
    what = {BENCH: "tested at", GAUGE: "tested with the gauge"}[cause.group.kind]
    return f"devices {what} {first} in {second}"


def _failed(cause: CommonCause) -> str:
    if cause.group.pool == SET_PRESSURE:
        return f"first popped {'high' if cause.sign > 0 else 'low'}"
    setting = cause.group.pool.replace("_", " ")
    return f"moved their {setting} in service {'up' if cause.sign > 0 else 'down'} the count"
