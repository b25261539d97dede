"""Devices that protect together, short to write, for the tests of coverage."""

from fleet.calc.protection import Duty, Joined, Member, duties
from fleet.calc.units import GAS_FLOW, GAUGE, LIQUID_FLOW, MASS_FLOW, parse_quantity

FLOWS = (MASS_FLOW, GAS_FLOW, LIQUID_FLOW)


def flow(text):
    return parse_quantity(text, FLOWS) if text else None


def member(tag, rated="", required="", *, at="10 barg", **extra):
    """A member by its tag; quantities as text."""
    pressure = parse_quantity(at, (GAUGE,)) if at else None
    return Member(tag, tag, flow(rated), flow(required), pressure, **extra)


def joined(kind, **roles):
    """An arrangement: role of each tag (A="duty", B="standby")."""
    return Joined(f"{kind} of {'/'.join(roles)}", kind, roles)


def duty(*members, kind="", roles=None) -> Duty:
    """One duty: the members alone, or in one arrangement of a kind with roles in their order."""
    tags = [one.position for one in members]
    arranged = [joined(kind, **dict(zip(tags, roles.split(), strict=True)))] if kind else []
    found = duties(members, arranged)
    assert len(found) == 1
    return found[0]
