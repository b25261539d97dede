"""Signing: the person who did the work says it is done, once nothing is missing."""

from datetime import datetime

from fleet import audit, clock
from fleet.faults import Fault, Refused
from fleet.models import User
from inspections.actions.gates import before_signing
from inspections.actions.outside import is_outside, unreceived
from inspections.actions.records import records_of
from inspections.actions.seconding import not_another
from inspections.actions.targets import targets_of
from inspections.models import Inspection


@audit.writing()
def sign(inspection: Inspection, *, version: int, by: User, at: datetime) -> Inspection:
    """Sign the version that was read. Raises Refused with everything that is missing.

    Of work done elsewhere it says that the certificate was entered as it stands: whoever of the
    shop did it stays the one who did, and `signed_by` is who vouches for it here.
    """
    stored = Inspection.objects.select_related("device").get(pk=inspection.pk)
    faults = []
    if stored.locked_at is not None:
        faults.append(Fault("record", stored.ref, "is locked already"))
    if stored.version != version:
        faults.append(Fault("record", stored.ref, "was changed since you read it; read it again"))
    [record] = records_of([stored])
    faults += before_signing(record, targets_of(stored)) + unreceived(record)
    faults += not_another(record, by)
    if faults:
        raise Refused(faults)
    stored.done_by = stored.done_by if is_outside(stored) else by
    stored.signed_at, stored.signed_on, stored.signed_by = at, clock.day_of(at), by
    stored.version += 1
    stored.save()
    audit.record([audit.change("inspection signed", stored)], by=by, at=at)
    return stored
