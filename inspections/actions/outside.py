"""Work done by others: an outside shop, whose certificate is entered here, and the maker.

Whoever of the shop did the work keeps the name on the record; our second person verifies what was
entered, and so cannot be the one who entered it.
"""

from datetime import datetime

from fleet.actions.people import people_named
from fleet.faults import Fault
from fleet.models import User
from inspections.models import FieldEdit, Inspection, Method


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
    inspection.signed_at = inspection.signed_on = None
    if not is_outside(inspection):
        inspection.done_by = None


def unreceived(inspection: Inspection) -> list[Fault]:
    """What has to be on record of work done by others before it is signed for."""
    if not is_outside(inspection):
        return []
    faults = []
    whose = "the maker's" if inspection.method == Method.MAKER else "the shop's"
    if not inspection.certificate:
        faults.append(Fault("certificate", "", f"the number of {whose} certificate"))
    if inspection.done_by is None:
        faults.append(Fault("done_by", "", f"who did the work, as {whose} certificate says"))
    elif inspection.done_by.is_active:
        words = "somebody of the shop; if it was done here, name no shop"
        faults.append(Fault("done_by", inspection.done_by.name, words))
    return faults


def entered_by(inspection: Inspection, by: User) -> bool:
    """Did this person enter what others did, or sign for it? Then somebody else verifies it."""
    if not is_outside(inspection):
        return False
    typed = FieldEdit.objects.filter(inspection=inspection, typed_by=by)
    return inspection.recorded_by_id == by.pk or typed.exists()
