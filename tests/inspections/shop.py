"""A small invented shop, worked through the product's own actions.

One position at 150 psig under the ASME VIII band (above 70 psi: 3 %; UG-134(d) via API RP 576
6.2.9.8), so 145.5 to 154.5 psig; one device fitted there; two people.
"""

from datetime import UTC, date, datetime

from fleet import ledger
from fleet.actions import installations, obligations, people, rules
from fleet.calc.units import (
    GAUGE,
    LENGTH,
    NOTCHES,
    PERCENT,
    TURNS,
    parse_quantity,
)
from fleet.models import Installation, Obligation, ObligationSpan, PositionDuty
from inspections.actions.sign import sign
from inspections.actions.start import start
from inspections.actions.step import Step, save_step
from inspections.actions.verify import verify
from inspections.models import Inspection, Stage
from tests import factories

AT = datetime(2024, 6, 1, 12, tzinfo=UTC)
FITTED, DAY = date(2020, 1, 1), date(2024, 5, 20)
LOW_RING = {"setting": "lower_ring", "measure": "notches", "positive": "up"}
SCREW = {"setting": "compression_screw", "measure": "turns", "positive": "in"}


def quantity(text):
    return parse_quantity(text, (GAUGE, NOTCHES, TURNS, LENGTH, PERCENT))


class Shop:
    """Opens, fills, signs and verifies jobs; `due()` is what the position then owes."""

    def __init__(self, *, activity="bench_test", tolerance="asme8", model=True):
        self.site = factories.SiteFactory()
        self.mechanic = factories.MembershipFactory(site=self.site, role="mechanic").user
        self.second = factories.MembershipFactory(site=self.site, role="engineer").user
        self.by = people.command_line_user(at=AT)
        self.band = rules.tolerances_in_use([tolerance], by=self.by, at=AT).get(tolerance)
        self.model = factories.DeviceModelFactory() if model else None
        self.place = self.position("PSV-1")
        self.device = factories.DeviceFactory(site=self.site, model=self.model, number="D-1")
        self.owed = self.owe(self.place, activity)
        self.fit(self.device, self.place, FITTED)

    def position(self, tag, **duty):
        place = factories.PositionFactory(unit__site=self.site, tag=tag)
        duty = {"set_pressure": "150 psig", "tolerance": self.band} | duty
        factories.PositionDutyFactory(position=place, **duty)
        return place

    def duty(self, place):
        return PositionDuty.objects.get(position=place)

    def owe(self, place, activity):
        row = Obligation(position=place, activity=activity, rule=factories.IntervalRuleFactory())
        obligations.owe([row], by=self.by, at=AT)
        ledger.replay_positions([place.pk], at=AT)
        return row

    def fit(self, device, place, day, until=None):
        spell = Installation(position=place, device=device, installed_on=day, removed_on=until)
        installations.fit([spell], by=self.by, at=AT)
        ledger.replay_positions(ledger.concerned_by([spell]), at=AT)
        return spell

    def remove(self, spell, day):
        installations.remove([(spell, day, "")], by=self.by, at=AT)
        ledger.replay_positions(ledger.concerned_by([spell]), at=AT)

    def point(self, required=True, datum="ring touching the disc holder", **columns):
        return factories.SettingPointFactory(
            model=self.model, required=required, datum=datum, **(LOW_RING | columns)
        )

    # a job

    def open(self, activity="bench_test", day=DAY, device=None, by=None):
        return start(
            device or self.device, activity=activity, done_on=day, by=by or self.mechanic, at=AT
        )

    def save(
        self, job, *, by=None, pops=None, settings=None, findings=None, correction="", **values
    ):
        """pops: {(stage, order): "150 psig"}; settings: {(setting, stage): "5 notches"}."""
        job = Inspection.objects.get(pk=job.pk)
        step = Step(
            "arrival",
            values={k: quantity(v) if k == "cold_test_pressure" else v for k, v in values.items()},
            pops={key: _pop(value) for key, value in (pops or {}).items()},
            settings={key: _reading(self, value) for key, value in (settings or {}).items()},
            findings=findings,
            correction=correction,
        )
        return save_step(job, step, version=job.version, by=by or self.mechanic, at=AT)

    def popped(self, job, found="151 psig", left="150 psig", **values):
        pops = {(Stage.AS_FOUND, 1): found, (Stage.AS_LEFT, 1): left}
        given = {key: value for key, value in pops.items() if value is not None}
        return self.save(job, pops=given, **values)

    def sign(self, job, by=None):
        job = Inspection.objects.get(pk=job.pk)
        return sign(job, version=job.version, by=by or self.mechanic, at=AT)

    def verify(self, job, by=None):
        return verify([job], by=by or self.second, at=AT)

    def finish(self, job, **columns):
        """Popped, signed and verified; the record as it then is."""
        self.popped(job, **columns)
        self.sign(job)
        self.verify(job)
        return Inspection.objects.get(pk=job.pk)

    # what follows

    def due(self, owed=None, day=date(2024, 6, 1)):
        return ObligationSpan.objects.known().on(day).get(obligation=owed or self.owed)


def _pop(value):
    if value is None or isinstance(value, dict):
        return value
    return {"pressure": quantity(value)}


def _reading(shop, value):
    if value is None or isinstance(value, dict):
        if value and isinstance(value.get("value"), str):
            return value | {"value": quantity(value["value"])}
        return value
    return {"value": quantity(value), "datum": "ring touching the disc holder"}
