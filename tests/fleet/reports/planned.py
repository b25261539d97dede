"""A small site with outages, for tests of plans."""

from datetime import date

from tests import factories
from tests.fleet.reports import plant

FROM, TO = date(2026, 10, 31), date(2028, 10, 31)


def site_with(hours="8"):
    """One unit; bench tests take `hours`."""
    unit = factories.UnitFactory(name="Reformer")
    factories.JobHoursFactory(activity="bench_test", hours=hours)
    return unit


def outage(unit, name, starts_on, **extra):
    ends_on = extra.pop("ends_on", starts_on.replace(day=min(starts_on.day + 10, 28)))
    return factories.OutageFactory(
        site=unit.site, units=[unit], name=name, starts_on=starts_on, ends_on=ends_on, **extra
    )


__all__ = ["FROM", "TO", "outage", "plant", "site_with"]
