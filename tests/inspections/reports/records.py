"""Locked records straight into the tables, for tests of the lists and pages that read them.

What verification would have judged is given: the lock's own tests prove it.
"""

from datetime import date, timedelta

from fleet import audit
from fleet.models import User
from fleet.stamps import stamp_lines
from inspections.models import Inspection
from tests import factories
from tests.factories import RECORDED_AT
from tests.fleet.reports import plant

STOP = "ring touching the disc holder"
BAND = ("145.5 psig", "154.5 psig")  # 150 psig, 3 %


def record(device, on, *, found="150 psig", left="150 psig", later=(), rings=None, **extra):
    """A bench overhaul at 150 psig, 3 %; `rings`: (as found, as left) of the lower ring.

    None leaves a reading out. `no_lift`: the pressure at which the first pop gave up.
    """
    no_lift, findings = extra.pop("no_lift", None), extra.pop("findings", ())
    reseat, locked = extra.pop("reseat", None), extra.pop("locked", True)
    lock = {"locked_at": extra.pop("locked_at", RECORDED_AT), **_lockers(extra)}
    reference, band = extra.pop("cdtp", "150 psig"), extra.pop("band", BAND)
    datum, verdict = extra.pop("datum", STOP), extra.pop("verdict", "")
    extra = {"method": "bench", "medium": "air", "disposition": "repaired", **extra}
    inspection = factories.InspectionFactory(device=device, done_on=on, **extra)
    judged = {"inspection": inspection, "reference": reference}
    judged |= {"band_low": band[0], "band_high": band[1]} if band else {}
    if no_lift:
        first = {"pressure": no_lift, "bound": "above", "result": "no_lift", "verdict": "high"}
        factories.PopTestFactory(stage="as_found", order=1, **judged, **first)
    elif found:
        factories.PopTestFactory(
            stage="as_found", order=1, pressure=found, verdict=verdict, **judged
        )
    for order, pressure in enumerate(later, 2):
        factories.PopTestFactory(stage="as_found", order=order, pressure=pressure, **judged)
    if left:
        factories.PopTestFactory(stage="as_left", order=1, pressure=left, reseat=reseat, **judged)
    for stage, value in zip(("as_found", "as_left"), rings or (), strict=False):
        if value:
            factories.SettingReadingFactory(
                inspection=inspection, stage=stage, value=value, datum=datum
            )
    for part, condition, action in findings:
        factories.FindingFactory(
            inspection=inspection, part=part, condition=condition, action=action
        )
    if locked:
        Inspection.objects.filter(pk=inspection.pk).update(**lock)
    return Inspection.objects.get(pk=inspection.pk)


def _lockers(extra):
    if "accepted_by" in extra:
        return {"accepted_by": extra.pop("accepted_by")}
    return {"verified_by": extra.pop("verified_by", None) or verifier()}


def written(rows):
    """Put rows that were written straight into the tables on the chain, as an action would."""
    changes = [audit.change("written down", row) for row in rows]
    audit.record(changes, by=verifier(), at=RECORDED_AT)


def verifier():
    return User.objects.filter(username="verifier").first() or factories.UserFactory(
        username="verifier", name="Vera Fier"
    )


def yearly(device, *visits, first=2015, **extra):
    """One record a year on 1 March, each a dict of what `record` takes."""
    return [
        record(device, date(first + n, 3, 1), ref=f"R-{first + n}", **{**extra, **visit})
        for n, visit in enumerate(visits)
    ]


def counted(device, on, *, recorded_on=None, **extra):
    """The event a record of that day earned, written down some days after."""
    noted = recorded_on or on + timedelta(days=3)
    return factories.ServiceEventFactory(
        device=device, done_on=on, recorded_at=_noon(noted), **extra
    )


def _noon(day):
    return RECORDED_AT.replace(year=day.year, month=day.month, day=day.day)


def dated(unit, on=date(2024, 3, 1), *, due_on=date(2029, 3, 1), recorded_on=None, **what):
    """A fitted position whose bench test is due, with the record it counts from."""
    baseline = what.pop("is_baseline", False)
    place = plant.position(unit, "PSV-1")
    device = plant.fitted(place, "D-1", serial="S1")
    event = counted(device, on, ref="W-1", recorded_on=recorded_on, is_baseline=baseline)
    inspection = record(device, on, event=event, **{"activity": "bench_test", "ref": "W-1", **what})
    obligation = factories.ObligationFactory(position=place, rule=plant.rule())
    factories.ObligationSpanFactory(
        obligation=obligation,
        from_on=on,
        state="dated",
        due_on=due_on,
        last_on=on,
        event=event,
        device=device,
        limit="gap",
    )
    stamp_lines([place])
    return obligation, inspection, event
