"""Opening a record: a bench job for a device, or a correction of a locked record."""

from datetime import date, datetime
from typing import Any

from fleet import audit, clock
from fleet.calc.activities import ACTIVITIES
from fleet.faults import Fault, Refused
from fleet.models import Device, User
from inspections.actions.assess import POPPED
from inspections.actions.context import context_of
from inspections.actions.discs import is_one_shot
from inspections.actions.outside import days_out_of_order, is_outside
from inspections.actions.records import Record, records_of
from inspections.models import Inspection, Method

USUAL_METHOD = {
    "bench_test": Method.BENCH,
    "overhaul": Method.BENCH,
    "in_place_test": Method.IN_PLACE_PRESSURE,
}


NOT_OF_ONE_SHOT = (*POPPED, "lever")  # what bursts or buckles does it once


@audit.writing()
def start(
    device: Device,
    *,
    activity: str,
    done_on: date | None,
    by: User,
    at: datetime,
    method: str = "",
    shop: str = "",
    sent_on: date | None = None,
) -> Inspection:
    """Open a job; `shop`: the outside shop the device is sent to, `sent_on` that day. Of what is
    away the day of the work is not known yet.

    Raises Refused for an unknown activity, a future day, a scrapped device, or a device whose job
    is open already.
    """
    _refuse_start(device, activity, at)
    inspection = Inspection(
        site_id=device.site_id,
        device=device,
        activity=activity,
        done_on=done_on,
        method=method or USUAL_METHOD.get(activity, ""),
        shop=shop,
        sent_on=sent_on if shop else None,
    )
    place(inspection, at)
    return _open(inspection, by, at)


def place(inspection: Inspection, at: datetime) -> None:
    """The day says at which position the device was; while it is away, the day it was sent.
    Raises Refused for days ahead or out of order, and without any."""
    faults = days_out_of_order(inspection, at)
    day = inspection.done_on or inspection.sent_on
    if day is None or (inspection.done_on and inspection.done_on > clock.day_of(at)):
        faults.append(Fault("done_on", str(day or ""), not_ahead(at)))
    if faults:
        raise Refused(faults)
    spell = context_of([inspection]).spell_served(inspection.device_id, day) if day else None
    inspection.position_id = spell.position_id if spell else None


def _refuse_start(device: Device, activity: str, at: datetime) -> None:
    faults = []
    if activity not in ACTIVITIES:
        faults.append(Fault("activity", activity, f"one of {', '.join(ACTIVITIES)}"))
    if is_one_shot(device) and activity in NOT_OF_ONE_SHOT:
        what = "disc change, replacement, visual or capacity review: it is not popped on a bench"
        faults.append(Fault("activity", activity, what))
    if device.status == Device.Status.SCRAPPED:
        faults.append(Fault("device", device.number, "a device that is not scrapped"))
    for other in Inspection.objects.open().filter(device=device):
        faults.append(Fault("device", device.number, f"job {other.ref} on it is open already"))
    if faults:
        raise Refused(faults)


def not_ahead(at: datetime) -> str:
    """What a day of work must be; it names the site's own day, since a tablet's clock may err."""
    return f"a day that is not in the future; by the site's clock it is {clock.day_of(at)} today"


def _open(inspection: Inspection, by: User, at: datetime, *children: Any) -> Inspection:
    """Number a new record after its own key, so that numbers are never reused."""
    inspection.recorded_by, inspection.recorded_at = by, at
    inspection.ref = f"opening {at.isoformat()} {by.pk} {inspection.device_id}"
    inspection.save()
    inspection.ref = _free_ref(f"{at:%Y}-{inspection.pk:06d}")
    inspection.save(update_fields=["ref"])
    for child in children:
        child.pk, child.inspection = None, inspection
        child.save(force_insert=True)
    audit.record([audit.change("inspection opened", inspection, *children)], by=by, at=at)
    return inspection


def _free_ref(wanted: str) -> str:
    """Old records brought their own numbers, which may look like ours."""
    ref, number = wanted, 1
    while Inspection.objects.filter(ref=ref).exists():
        number += 1
        ref = f"{wanted}-{number}"
    return ref


@audit.writing()
def correct(old: Inspection, *, by: User, at: datetime) -> Inspection:
    """Open a new record that says again what a locked one said, to be corrected and verified.

    The old record stays as it is and counts until the new one is verified.
    """
    old = Inspection.objects.get(pk=old.pk)
    faults = []
    if old.locked_at is None:
        faults.append(Fault("record", old.ref, "is still open: change it there"))
    other = Inspection.objects.filter(corrects=old).first()
    if other is not None:
        faults.append(Fault("record", old.ref, f"is being corrected by {other.ref} already"))
    if faults:
        raise Refused(faults)
    [record] = records_of([Inspection.objects.get(pk=old.pk)])
    return _open(_again(record, old), by, at, *record.children())


def _again(record: Record, old: Inspection) -> Inspection:
    copy = record.inspection
    copy.pk = None
    copy._state.adding = True
    copy.corrects = old
    copy.version, copy.step = 1, ""
    copy.signed_at = copy.signed_on = copy.signed_by = None
    copy.done_by = copy.done_by if is_outside(copy) else None
    copy.verified_by = copy.accepted_by = copy.locked_at = copy.event = None
    copy.is_baseline = False
    return copy
