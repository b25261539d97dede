"""Papers of a record, kept as they came under their own digest: an outside shop's certificate."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from fleet import audit
from fleet.faults import Fault, Refused
from fleet.models import User
from inspections.actions import files
from inspections.actions.outside import unsign
from inspections.calc.documents import Paper
from inspections.models import Document, Inspection


@audit.writing()
def keep_documents(
    inspection: Inspection, papers: Sequence[Paper], *, by: User, at: datetime
) -> list[Document]:
    """Keep papers with an open record, each once; returns the new ones. Who signed it has to sign
    again. Raises Refused when the record is locked."""
    stored = _open(inspection.pk)
    known = set(stored.documents.values_list("sha256", flat=True))
    new = []
    for paper in papers:
        if paper.sha256 not in known:
            known.add(paper.sha256)
            new.append(_keep(stored, paper, by, at))
    if new:
        _sign_again(stored)
        audit.record([audit.change("documents kept", stored, *new)], by=by, at=at)
    return new


@audit.writing()
def remove_document(document: Document, *, by: User, at: datetime) -> None:
    """Take a paper away, and its file once no record has it. Raises Refused when it is locked."""
    stored = _open(document.inspection_id)
    row = stored.documents.get(pk=document.pk)
    gone = Document.objects.get(pk=row.pk)
    row.delete()
    _sign_again(stored)
    audit.record([audit.change("document removed", stored, gone=[gone])], by=by, at=at)
    transaction.on_commit(lambda: _forget(gone))


@audit.writing()
def _forget(document: Document) -> None:
    if not Document.objects.filter(sha256=document.sha256).exists():
        files.unlink([document.stored_at])


def _open(key: int) -> Inspection:
    stored = Inspection.objects.get(pk=key)
    if stored.locked_at is not None:
        raise Refused([Fault("documents", stored.ref, "is locked: its papers stay as they are")])
    return stored


def _sign_again(inspection: Inspection) -> None:
    """What was signed is not what is there now."""
    if inspection.signed_at is not None:
        unsign(inspection)
        inspection.version += 1
        inspection.save()


def _keep(inspection: Inspection, paper: Paper, by: User, at: datetime) -> Document:
    document = Document(
        inspection=inspection,
        sha256=paper.sha256,
        kind=paper.kind,
        size=len(paper.data),
        name=paper.name,
        added_by=by,
        received_at=at,
    )
    files.write(document.stored_at, paper.data)
    document.save()
    return document
