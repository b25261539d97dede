"""Answering a flag of the settings review: an engineer has looked at it and says so.

It holds while the flag's fingerprint stays: a fact rests on its reasons, a statistic on the
device's own numbers, so that a fleet that moves a little does not ask again.
"""

import hashlib
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from fleet import audit
from fleet.faults import Fault, Refused
from fleet.models import User
from inspections.models import Acknowledgement, FlagState


@audit.writing()
def acknowledge(
    *, device: int, setting: str, code: str, fingerprint: str, note: str, by: User, at: datetime
) -> Acknowledgement:
    """Keep that somebody has looked at this flag as it stood when it was shown.

    Raises Refused for a flag that is not there or rests on something else by now, for one that
    is acknowledged already, and without a note.
    """
    of_today = FlagState.objects.filter(state__screening__day=None)
    flag = of_today.filter(
        state__device=device, state__setting=setting, code=code, fingerprint=fingerprint
    ).first()
    if flag is None:
        expected = "a flag that stands; this one does not, or rests on something else by now"
        raise Refused([Fault("flag", code.replace("_", " "), expected)])
    if flag.acknowledgement_id:
        raise Refused([Fault("flag", code.replace("_", " "), "a flag nobody has answered yet")])
    if not note.strip():
        raise Refused([Fault("note", note, "what was found when it was looked at")])
    said = Acknowledgement.objects.create(
        device_id=device,
        setting=setting,
        code=code,
        fingerprint=fingerprint,
        note=note.strip(),
        recorded_at=at,
        recorded_by=by,
    )
    flag.acknowledgement = said
    flag.save(update_fields=["acknowledgement"])
    audit.record([audit.change("flag acknowledged", said)], by=by, at=at)
    return said


def fingerprint_of_fact(code: str, reasons: Iterable[str]) -> str:
    """SHA-256 of what a fact rests on: what it says."""
    return _digest([code, *reasons])


def fingerprint_of_statistic(code: str, own: Iterable[Any]) -> str:
    """SHA-256 of the device's own numbers that a statistic rests on, the fleet's left out."""
    return _digest([code, *own])


def _digest(said: list[Any]) -> str:
    return hashlib.sha256(audit.canonical(said).encode()).hexdigest()
