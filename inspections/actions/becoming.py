"""A bench test that becomes an overhaul: it failed, and the same visit goes on to the parts.

What was found stays as it was written. What was left was left before the valve was taken apart:
it is no as-left of the overhaul, so it moves into the remarks and is taken again.
"""

from datetime import datetime

from fleet import audit, clock
from fleet.faults import Fault, Refused
from fleet.models import User
from inspections.actions.outside import unsign
from inspections.actions.records import Record, records_of
from inspections.actions.step import ChangedMeanwhile
from inspections.models import Inspection, PopStage, PopTest

BECOMES = {"bench_test": "overhaul"}  # a valve popped in place goes to the bench as another job
LEFT = (PopStage.AS_LEFT, PopStage.VACUUM_LEFT)
TAKEN_UP_AT = "as_received"  # what was walked past it is walked again, in the order of an overhaul
BACK_AT_THE_POP = ("as_left", "vac_left", "seal")


@audit.writing()
def become_overhaul(inspection: Inspection, *, version: int, by: User, at: datetime) -> Inspection:
    """Turn an open bench test into an overhaul; who signed it has to sign again.

    Raises ChangedMeanwhile when `version` is no longer the stored one, Refused when it is locked
    or is no bench test.
    """
    stored = Inspection.objects.get(pk=inspection.pk)
    if faults := _faults(stored):
        raise Refused(faults)
    if stored.version != version:
        raise ChangedMeanwhile
    [record] = records_of([stored])
    gone = [pop for pop in record.pops if pop.stage in LEFT]
    stored.activity = BECOMES[stored.activity]
    stored.remarks = "\n".join(filter(None, (stored.remarks, _line(record, gone, by, at))))
    stored.disposition = stored.left_reason = ""
    if stored.step in BACK_AT_THE_POP:
        stored.step = TAKEN_UP_AT
    stored.version += 1
    unsign(stored)
    stored.save()
    PopTest.objects.filter(inspection=stored, stage__in=LEFT).delete()
    audit.record([audit.change("became an overhaul", stored, gone=gone)], by=by, at=at)
    return stored


def _faults(stored: Inspection) -> list[Fault]:
    if stored.locked_at is not None:
        return [Fault("record", stored.ref, "is locked; correct it with a new record")]
    if stored.activity not in BECOMES:
        return [Fault("activity", stored.activity, "a bench test: only that becomes an overhaul")]
    return []


def _line(record: Record, gone: list[PopTest], by: User, at: datetime) -> str:
    """Who turned it, when, and everything that was written of how it was left."""
    said = [words for pop in gone if (words := _pop_words(pop))]
    job = record.inspection
    said += [f"disposition {job.get_disposition_display()}"] if job.disposition else []
    said += [f"the reason given: {job.left_reason}"] if job.left_reason else []
    line = f"Bench test turned into an overhaul by {by.name}, {clock.day_of(at).isoformat()}"
    return f"{line}; before that, as left: {', '.join(said)}" if said else line


def _pop_words(pop: PopTest) -> str:
    what = "vacuum" if pop.is_vacuum else "pop"
    parts = ((what, pop.pressure), ("reseat", pop.reseat), ("leak", pop.leak_rate))
    return ", ".join(f"{name} {value}" for name, value in parts if value is not None)
