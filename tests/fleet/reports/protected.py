"""Positions that protect together, in the register."""

from tests import factories


def place(unit, rated="", required="", *, status="in_service", isolation="changeover", **device):
    """A position with its duty and, unless `device=None`, a device."""
    row = factories.PositionFactory(unit=unit, status=status)
    factories.PositionDutyFactory(
        position=row, required_capacity=required or None, isolation=isolation
    )
    if device.pop("fitted", True):
        one = factories.DeviceFactory(site=unit.site, rated_capacity=rated or None, **device)
        factories.InstallationFactory(position=row, device=one)
    return row


def arranged(kind, roles, *positions):
    """Positions joined, each in its role."""
    name = f"{kind} {positions[0].tag}"
    one = factories.ArrangementFactory(site=positions[0].site, kind=kind, name=name)
    for role, position in zip(roles.split(), positions, strict=True):
        factories.ArrangementMemberFactory(arrangement=one, position=position, role=role)
    return one
