"""Saving one step of a bench job: what was typed, whole, or nothing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import models

from fleet import audit
from fleet.faults import Fault, Refused
from fleet.models import User
from inspections.models import Finding, Inspection, PopTest, SettingReading


class ChangedMeanwhile(Exception):
    """Somebody saved this record since the page was opened; nothing was written."""


@dataclass
class Step:
    """What one step writes: columns of the record, and children by their natural keys.

    pops: {(stage, order): columns}; settings: {(setting, stage): columns}; None removes one.
    findings: the whole list, or None when this step does not touch findings.
    """

    name: str
    values: Mapping[str, Any] = field(default_factory=dict)
    pops: Mapping[tuple[str, int], dict | None] = field(default_factory=dict)
    settings: Mapping[tuple[str, str], dict | None] = field(default_factory=dict)
    findings: Sequence[dict] | None = None


@audit.writing()
def save_step(
    inspection: Inspection, step: Step, *, version: int, by: User, at: datetime
) -> Inspection:
    """Write a step over the version the page was opened on.

    Raises ChangedMeanwhile when that is no longer the stored one, Refused when it is locked.
    """
    stored = Inspection.objects.select_for_update(of=("self",)).get(pk=inspection.pk)
    if stored.locked_at is not None:
        raise Refused([Fault("record", stored.ref, "is locked; correct it with a new record")])
    if stored.version != version:
        raise ChangedMeanwhile
    for name, value in step.values.items():
        setattr(stored, name, value)
    stored.step, stored.version = step.name, stored.version + 1
    if stored.signed_at is not None:  # what was signed is not what is there now: sign again
        stored.signed_at = stored.done_by = stored.signed_on = None
    stored.save()
    kept, gone = _write_children(stored, step)
    audit.record([audit.change("bench step saved", stored, *kept, gone=gone)], by=by, at=at)
    return stored


def _write_children(inspection: Inspection, step: Step) -> tuple[list, list]:
    pops = [(PopTest, {"stage": k[0], "order": k[1]}, v) for k, v in step.pops.items()]
    settings = [
        (SettingReading, {"setting": k[0], "stage": k[1]}, v) for k, v in step.settings.items()
    ]
    kept: list[models.Model] = []
    gone: list[models.Model] = []
    for model, key, columns in pops + settings:
        row = _put(model, inspection, key, columns)
        (gone if columns is None else kept).extend(row)
    if step.findings is not None:
        old = list(Finding.objects.filter(inspection=inspection))
        Finding.objects.filter(inspection=inspection).delete()
        gone += old
        kept += [Finding.objects.create(inspection=inspection, **row) for row in step.findings]
    return kept, gone


def _put(
    model: type[models.Model], inspection: Inspection, key: dict, columns: dict | None
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
    for name, value in columns.items():
        setattr(row, name, value)
    row.save()
    return [row]
