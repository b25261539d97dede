"""A small invented plant that is written about at random, as the product writes, on the chain."""

import random
from contextlib import suppress
from datetime import UTC, date, datetime, timedelta

from fleet import audit
from fleet.actions import installations, outages, positions
from fleet.actions.devices import update_devices
from fleet.faults import Refused
from fleet.models import Installation, Outage, PositionDuty, Site
from inspections.actions.acknowledge import acknowledge
from inspections.actions.points import save_points
from inspections.models import FlagState, Inspection
from tests import factories
from tests.inspections.reports.records import record, written

FIRST = date(2016, 1, 1)
TODAY = date(2026, 10, 31)
DATUMS = ("ring touching the disc holder", "top of the guide")


class Writes:
    """`write()` does one thing at random; `at` is the moment it is done."""

    def __init__(self, seed: int):
        self.dice = random.Random(seed)
        self.at = datetime(TODAY.year, TODAY.month, TODAY.day, 8, tzinfo=UTC)
        self.by = factories.UserFactory()
        self.units = [factories.UnitFactory(site=factories.SiteFactory()) for _ in range(2)]
        self.models = [factories.DeviceModelFactory() for _ in range(2)]
        self.points = [
            factories.SettingPointFactory(model=model, setting="lower_ring")
            for model in self.models
        ]
        self.devices = [
            factories.DeviceFactory(
                site=self.dice.choice(self.units).site, model=self.dice.choice(self.models)
            )
            for _ in range(6)
        ]
        self.places = [self._place() for _ in range(4)]
        self.number = 0

    def _place(self):
        place = factories.PositionFactory(unit=self.dice.choice(self.units))
        factories.PositionDutyFactory(position=place)
        return place

    def write(self) -> None:
        self.at += timedelta(minutes=1)
        work = self.dice.choice([self.visited] * 6 + [
            self.corrected, self.fitted, self.removed, self.voided, self.counted_otherwise,
            self.renamed, self.another_duty, self.another_device, self.another_habit,
            self.shut_down, self.answered, self.slept, self.nothing_of_it,
        ])  # fmt: skip
        with suppress(Refused):
            work()

    def _day(self) -> date:
        return FIRST + timedelta(self.dice.randrange((TODAY - FIRST).days))

    # what happens

    def visited(self, **extra):
        self.number += 1
        pop = self.dice.choice([150, 150, 150, 151, 149, 158, 141])
        verdict = "high" if pop > 154 else "low" if pop < 146 else "in"
        ring = self.dice.randint(-9, -5)
        what = {
            "found": f"{pop} psig",
            "verdict": verdict,
            "rings": (f"{ring} notches", f"{self.dice.choice([ring, -7])} notches"),
            "datum": self.dice.choice([DATUMS[0], DATUMS[0], DATUMS[1]]),
            "gauge": self.dice.choice(["PG-1", "PG-2"]),
            "shop": self.dice.choice(["", "North bench"]),
            **extra,
        }
        device = what.pop("device", None) or self.dice.choice(self.devices)
        place = self.dice.choice([None, *self.places])
        row = record(device, self._day(), ref=f"R-{self.number}", position=place, **what)
        written([row])

    def corrected(self):
        before = self.dice.choice(list(Inspection.objects.standing().order_by("pk")))
        self.visited(corrects=before, device=self.dice.choice([before.device, *self.devices]))

    def fitted(self):
        start = self._day()
        end = self.dice.choice([None, start + timedelta(self.dice.randint(1, 900))])
        spell = Installation(
            position=self.dice.choice(self.places),
            device=self.dice.choice(self.devices),
            installed_on=start,
            removed_on=end,
        )
        installations.fit([spell], by=self.by, at=self.at)

    def removed(self):
        for spell in self._some(Installation.objects.standing()):
            day = spell.installed_on + timedelta(self.dice.randint(1, 4000))
            installations.remove([(spell, day, "")], by=self.by, at=self.at)

    def voided(self):
        for spell in self._some(Installation.objects.all()):
            installations.void(spell, reason="typed for another", by=self.by, at=self.at)

    def counted_otherwise(self):
        point = self.dice.choice(self.points)
        point.refresh_from_db()
        step = self.dice.choice(["1 notch", "3 notches"])
        point.resolution = point._meta.get_field("resolution").to_python(step)
        point.positive = self.dice.choice(["up", "down"])
        save_points([point], by=self.by, at=self.at)

    def renamed(self):
        model = self.dice.choice(self.models)
        model.name = f"Model {self.dice.randint(0, 99)}-{model.pk}"
        model.save()
        audit.record([audit.change("model changed", model)], by=self.by, at=self.at)

    def another_duty(self):
        """Some of them only from a day on that is still to come."""
        place, unit = self.dice.choice(self.places), self.dice.choice(self.units)
        duty = PositionDuty(
            position=place,
            from_on=self.dice.choice([self._day(), TODAY + timedelta(self.dice.randint(1, 20))]),
            tag=f"T-{self.dice.randint(0, 99)}",
            unit=unit,
            status="in_service",
            fluid=self.dice.choice(["steam", "air"]),
        )
        duty.set_pressure = PositionDuty._meta.get_field("set_pressure").to_python("150 psig")
        if not place.duties.filter(from_on=duty.from_on).exists():
            positions.change_duties([duty], by=self.by, at=self.at, propose=False)

    def another_device(self):
        device = self.dice.choice(self.devices)
        device.refresh_from_db()
        device.model = self.dice.choice(self.models)
        device.site = self.dice.choice(self.units).site
        update_devices([device], by=self.by, at=self.at)

    def another_habit(self):
        site = Site.objects.get(pk=self.dice.choice(self.units).site_id)
        site.review_overhauls, site.review_resets = self.dice.choice([(5, 3), (4, 1), (8, 2)])
        site.save()
        audit.record([audit.change("site changed", site)], by=self.by, at=self.at)

    def shut_down(self):
        start = self._day()
        unit = self.dice.choice(self.units)
        name = f"Outage {self.at:%d %H:%M}"
        outage = Outage(site=unit.site, name=name, starts_on=start, ends_on=start + timedelta(60))
        outages.save_outages([(outage, [unit])], by=self.by, at=self.at)

    def answered(self):
        for flag in self._some(FlagState.objects.select_related("state")):
            acknowledge(
                device=flag.state.device_id,
                setting=flag.state.setting,
                code=flag.code,
                fingerprint=flag.fingerprint,
                note="looked at it",
                by=self.by,
                at=self.at,
            )

    def slept(self):
        self.at += timedelta(days=self.dice.randint(1, 9))

    def nothing_of_it(self):
        unit = self.dice.choice(self.units)
        audit.record([audit.change("unit saved", unit)], by=self.by, at=self.at)

    def _some(self, rows):
        found = list(rows.order_by("pk"))
        return [self.dice.choice(found)] if found else []
