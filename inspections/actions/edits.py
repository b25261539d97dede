"""What is typed at the bench, kept field by field before it is saved.

A person's last edit of a field is open until that person saves it or drops it. Either is another
row, without `typed_at`: nothing is rewritten, and order is the order of arrival here, never what
a tablet's clock says.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from django.db.models import Max

from fleet import audit
from fleet.models import User
from inspections.models import FieldEdit, Inspection

LOCKED = "the record is locked; correct it with a new record"
TAKEN = "another edit has this number already"


@dataclass(frozen=True)
class Edit:
    """One field as a tablet sends it; `typed` None: what was typed there is dropped.

    typed_at: by the tablet's clock; only ever shown.
    """

    uuid: UUID
    step: str
    field: str
    typed: str | None
    base_version: int
    typed_at: datetime


@dataclass(frozen=True)
class Turned:
    """An edit that was not kept, and why; what was typed goes back to who typed it."""

    uuid: str
    typed: str
    why: str


@audit.writing()
def keep(
    inspection: Inspection, edits: Sequence[Edit], *, by: User, at: datetime
) -> tuple[list[str], list[Turned]]:
    """Append what is new, once for each uuid: (uuids kept now or before, those turned away)."""
    locked = Inspection.objects.locked().filter(pk=inspection.pk).exists()
    known = {e.uuid: e for e in FieldEdit.objects.filter(uuid__in=[e.uuid for e in edits])}
    kept, turned = [], []
    for edit in edits:
        row = _row(inspection, edit, by, at)
        before = known.get(edit.uuid)
        if before is not None and _said(before) != _said(row):
            turned.append(Turned(str(edit.uuid), edit.typed or "", TAKEN))
        elif before is None and locked:
            turned.append(Turned(str(edit.uuid), edit.typed or "", LOCKED))
        else:
            if before is None:
                row.save(force_insert=True)
            known[edit.uuid] = before or row
            kept.append(str(edit.uuid))
    return kept, turned


def _row(inspection: Inspection, edit: Edit, by: User, at: datetime) -> FieldEdit:
    dropped = edit.typed is None
    return FieldEdit(
        uuid=edit.uuid,
        inspection=inspection,
        step=edit.step,
        field=edit.field,
        typed=edit.typed or "",
        base_version=edit.base_version,
        typed_by=by,
        typed_at=None if dropped else edit.typed_at,
        received_at=at,
    )


def _said(row: FieldEdit) -> tuple:
    """What makes two rows the same edit."""
    return (row.inspection_id, row.typed_by_id, row.step, row.field, row.typed, not row.typed_at)


@audit.writing()
def settle(
    inspection: Inspection, step: str, fields: Iterable[str], *, by: User, at: datetime
) -> None:
    """Say of these fields of a step that nothing this person typed there is left unsaved."""
    version = Inspection.objects.values_list("version", flat=True).get(pk=inspection.pk)
    FieldEdit.objects.bulk_create(
        FieldEdit(
            uuid=uuid4(),
            inspection=inspection,
            step=step,
            field=field,
            base_version=version,
            typed_by=by,
            received_at=at,
        )
        for field in fields
    )


def open_edits(inspection: Inspection) -> list[FieldEdit]:
    """Each person's last edit of each field that they neither saved nor dropped, oldest first."""
    edits = FieldEdit.objects.filter(inspection=inspection)
    last = edits.order_by().values("typed_by", "step", "field").annotate(last=Max("pk"))
    rows = FieldEdit.objects.filter(pk__in=last.values("last")).exclude(typed_at=None)
    return list(rows.select_related("typed_by").order_by("pk"))
