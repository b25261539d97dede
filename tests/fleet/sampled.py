"""A sampled group through the real writers: every fact recorded, every date the ledger's own.

Six members under the rule of `SampleRuleFactory`, a fifth in any 24 months, so two of six.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime

from fleet import ledger
from fleet.models import Device, DueLine, Obligation, Position, ServiceEvent, User
from tests import factories

NOON = datetime(2020, 6, 1, 12, tzinfo=UTC)
TODAY = NOON.date()
TESTED = ("2018-01-01", "2018-02-01", "2018-03-01", "2018-04-01", "2019-05-01", "2019-06-01")


@dataclass(frozen=True)
class Sampled:
    """places, devices and owed in the order of their last tests, the longest untested first."""

    by: User
    places: list[Position]
    devices: list[Device]
    owed: list[Obligation]

    def test(self, number: int, on: str, percent: str = "0.5", verdict: str = "in", **extra):
        """A bench test of what stands at a member; the event, recorded."""
        return record(self.devices[number], on, percent, verdict, by=self.by, **extra)

    def dues(self) -> list[tuple[str | None, str]]:
        """(due, limit that binds) of each member, from the due lines of today."""
        lines = DueLine.objects.select_related("span").in_bulk(
            [row.pk for row in self.owed], field_name="obligation_id"
        )
        return [
            (line.due_on and str(line.due_on), line.span.limit) if line else (None, "gone")
            for line in (lines.get(row.pk) for row in self.owed)
        ]


def record(device, on, percent="0.5", verdict="in", *, by, at=NOON, **extra) -> ServiceEvent:
    found = {"as_found_percent": percent, "as_found_verdict": verdict} if percent else {}
    fields = {"activity": "bench_test", "ref": f"{device.number} {on}"} | found | extra
    event = ServiceEvent(site=device.site, device=device, done_on=date.fromisoformat(on), **fields)
    ledger.record([event], by=by, at=at)
    return event


def sampled(tested=TESTED, *, unit=None, rule=None, group="Main steam", prefix="MS-") -> Sampled:
    """A member for each day, with one device, tested sound that day."""
    unit, by = unit or factories.UnitFactory(), factories.UserFactory()
    rule = rule or factories.SampleRuleFactory()
    places, devices, owed = [], [], []
    for number, _ in enumerate(tested, 1):
        place = factories.PositionFactory(unit=unit, tag=f"{prefix}{number:03}")
        factories.PositionDutyFactory(position=place)
        device = factories.DeviceFactory(site=unit.site)
        factories.InstallationFactory(position=place, device=device, installed_on=date(2015, 1, 1))
        places.append(place)
        devices.append(device)
        owed.append(factories.ObligationFactory(position=place, rule=rule, group=group))
    events = [
        ServiceEvent(
            site=unit.site, device=device, activity="bench_test", done_on=date.fromisoformat(on),
            ref=f"{device.number} {on}", as_found_percent="0.5", as_found_verdict="in",
        )
        for device, on in zip(devices, tested, strict=True)
    ]  # fmt: skip
    ledger.record(events, by=by, at=NOON)
    return Sampled(by, places, devices, owed)
