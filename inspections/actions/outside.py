"""Work done by others: an outside shop, whose certificate is entered here, and the maker.

Whoever of the shop did the work keeps the name on the record; our second person verifies what was
entered, and so cannot be one who entered it or signed for it.
"""

from collections.abc import Iterator
from datetime import date, datetime

from fleet import clock
from fleet.actions.people import people_named
from fleet.faults import Fault
from fleet.models import User
from inspections.actions.receipt import receipt_gaps
from inspections.actions.records import Record
from inspections.models import Document, FieldEdit, Inspection, Method


def is_outside(inspection: Inspection) -> bool:
    return bool(inspection.shop) or inspection.method == Method.MAKER


def person_of_shop(name: str, *, by: User, at: datetime) -> User | None:
    """The account of who did the work elsewhere: known by name, and nobody's sign-in."""
    name = " ".join(name.split())
    if not name:
        return None
    return people_named([name], by=by, at=at)[name.casefold()]


def unsign(inspection: Inspection) -> None:
    """What was signed is not what is there now: it is signed again."""
    if inspection.signed_at is None:
        return
    inspection.signed_at = inspection.signed_on = inspection.signed_by = None
    if not is_outside(inspection):
        inspection.done_by = None


def unreceived(record: Record) -> list[Fault]:
    """What has to be on record of work done by others before it is signed for."""
    inspection = record.inspection
    if not is_outside(inspection):
        return []
    faults = list(receipt_gaps(record))
    whose = "the maker's" if inspection.method == Method.MAKER else "the shop's"
    if not inspection.certificate:
        faults.append(Fault("certificate", "", f"the number of {whose} certificate"))
    if inspection.done_by is None:
        faults.append(Fault("done_by", "", f"who did the work, as {whose} certificate says"))
    elif inspection.done_by.is_active:
        words = "somebody of the shop; if it was done here, name no shop"
        faults.append(Fault("done_by", inspection.done_by.name, words))
    if inspection.sent_on and inspection.received_on is None:
        faults.append(Fault("received_on", "", f"the day it came back from {inspection.shop}"))
    return faults


def days_out_of_order(inspection: Inspection, at: datetime) -> list[Fault]:
    """What contradicts itself in the days of despatch, of the work and of receipt."""
    return list(_out_of_order(inspection, clock.day_of(at)))


def _out_of_order(inspection: Inspection, today: date) -> Iterator[Fault]:
    sent, back, done = inspection.sent_on, inspection.received_on, inspection.done_on
    for name, day in (("sent_on", sent), ("received_on", back)):
        if day and day > today:
            words = f"a day that is not in the future; by the site's clock it is {today} today"
            yield Fault(name, day.isoformat(), words)
    if sent and back and back < sent:
        yield Fault("received_on", back.isoformat(), f"a day not before {sent}, when it was sent")
    if sent and done and done < sent:
        yield Fault("done_on", done.isoformat(), f"a day not before {sent}, when it was sent")
    if back and done and done > back:
        yield Fault("done_on", done.isoformat(), f"a day not after {back}, when it came back")


def entered_by(inspection: Inspection, by: User) -> bool:
    """Did this person enter what others did, or sign for it? Then somebody else verifies it.

    Every save of a step of such work leaves an edit, whether a tablet's script sent one or not;
    whoever put the shop's certificate there chose what is verified against.
    """
    if not is_outside(inspection):
        return False
    typed = FieldEdit.objects.filter(inspection=inspection, typed_by=by)
    kept = Document.objects.filter(inspection=inspection, added_by=by)
    wrote = typed.exists() or kept.exists()
    return wrote or by.pk in (inspection.recorded_by_id, inspection.signed_by_id)
