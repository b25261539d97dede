"""Saving one step of a bench job: what was typed, whole, or nothing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import models

from fleet import audit
from fleet.faults import Fault, Refused
from fleet.models import User
from inspections.actions.edits import settle
from inspections.actions.first_pop import keep_first
from inspections.actions.order import ask_about_order
from inspections.actions.outside import is_outside, person_of_shop, unsign
from inspections.actions.start import place
from inspections.models import ContactCheck, Finding, Inspection, PopStage, PopTest, SettingReading

LEFT = (PopStage.AS_LEFT, PopStage.VACUUM_LEFT)
DAYS = {"done_on", "sent_on", "received_on"}


class ChangedMeanwhile(Exception):
    """Somebody saved this record since the page was opened; nothing was written."""


@dataclass
class Step:
    """What one step writes: columns of the record, and children by their natural keys.

    pops: {(stage, order): columns}; settings: {(setting, stage): columns}; None removes one.
    findings: the whole list, or None when this step does not touch findings.
    correction: why the first pop is another than the one written down before.
    done_by: who of an outside shop did the work, as its certificate names them; None = not asked.
    checks: {order: columns} of the contact checks; None removes one.
    """

    name: str
    values: Mapping[str, Any] = field(default_factory=dict)
    pops: Mapping[tuple[str, int], dict | None] = field(default_factory=dict)
    settings: Mapping[tuple[str, str], dict | None] = field(default_factory=dict)
    findings: Sequence[dict] | None = None
    correction: str = ""
    done_by: str | None = None
    checks: Mapping[int, dict | None] = field(default_factory=dict)

    def late(self) -> list[str]:
        """What it writes that comes after the reading of how the device came, in words."""
        pops = any(stage in LEFT and row for (stage, _), row in self.pops.items())
        settings = any(stage in LEFT and row for (_, stage), row in self.settings.items())
        said = {
            "parts": bool(self.findings),
            "a contact check": any(self.checks.values()),
            "settings as left": settings,
            "an as-left pop": pops,
        }
        return [words for words, is_written in said.items() if is_written]


@audit.writing()
def save_step(
    inspection: Inspection, step: Step, *, version: int, by: User, at: datetime
) -> Inspection:
    """Write a step over the version the page was opened on. Who signed it has to sign again.

    Raises ChangedMeanwhile when that is no longer the stored one, Refused when it is locked or
    dated ahead.
    """
    stored = Inspection.objects.get(pk=inspection.pk)
    if stored.locked_at is not None:
        raise Refused([Fault("record", stored.ref, "is locked; correct it with a new record")])
    if stored.version != version:
        raise ChangedMeanwhile
    was_outside = is_outside(stored)
    for name, value in step.values.items():
        setattr(stored, name, value)
    if DAYS & step.values.keys():
        place(stored, at)
    keep_first(stored, step.pops, step.correction, by=by, at=at)
    stored.step, stored.version = step.name, stored.version + 1
    unsign(stored)
    if step.done_by is not None:
        stored.done_by = person_of_shop(step.done_by, by=by, at=at)
    elif was_outside and not is_outside(stored):  # done here after all: who did it signs
        stored.done_by = None
    stored.save()
    kept, gone = _write_children(stored, step, by)
    audit.record([audit.change("bench step saved", stored, *kept, gone=gone)], by=by, at=at)
    ask_about_order(stored, step.late(), by=by, at=at)
    if is_outside(stored):  # so that it is known who entered it, where no script runs too
        settle(stored, step.name, ["saved"], by=by, at=at)
    return stored


def _write_children(inspection: Inspection, step: Step, by: User) -> tuple[list, list]:
    rows: list[tuple[type[models.Model], dict, dict | None]] = [
        *((PopTest, {"stage": k[0], "order": k[1]}, v) for k, v in step.pops.items()),
        *((SettingReading, {"setting": k[0], "stage": k[1]}, v) for k, v in step.settings.items()),
        *((ContactCheck, {"order": k}, v) for k, v in step.checks.items()),
    ]
    kept: list[models.Model] = []
    gone: list[models.Model] = []
    for model, key, columns in rows:
        row = _put(model, inspection, key, columns, by)
        (gone if columns is None else kept).extend(row)
    if step.findings is not None:
        old = list(Finding.objects.filter(inspection=inspection))
        Finding.objects.filter(inspection=inspection).delete()
        gone += old
        kept += [Finding.objects.create(inspection=inspection, **row) for row in step.findings]
    return kept, gone


def _put(
    model: type[models.Model], inspection: Inspection, key: dict, columns: dict | None, by: User
) -> list[models.Model]:
    """Write or remove one child; answers the row as it is, or was."""
    row = model._default_manager.filter(inspection=inspection, **key).first()
    if columns is None:
        if row is None:
            return []
        pk = row.pk
        row.delete()
        row.pk = pk
        return [row]
    row = row or model(inspection=inspection, **key)
    if isinstance(row, SettingReading):
        _name(row, columns.get("changed_reason", row.changed_reason), by)
    for name, value in columns.items():
        setattr(row, name, value)
    row.save()
    return [row]


def _name(reading: SettingReading, reason: str, by: User) -> None:
    """Whoever gives the reason for an as-left off its target answers for it by name."""
    if not reason:
        reading.changed_by = None
    elif reason != reading.changed_reason:
        reading.changed_by = by
