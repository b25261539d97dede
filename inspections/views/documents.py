"""Papers of a record: taken up at the bench, handed out through a permission check, taken away."""

from pathlib import Path

from django.core.files.storage import default_storage
from django.http import FileResponse, Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from fleet import clock, permissions
from fleet.faults import Fault, Refused
from fleet.views.guard import needs, require
from inspections.actions.documents import keep_documents, remove_document
from inspections.calc.documents import LARGEST_BYTES, NotADocument, Paper, paper_of
from inspections.models import Document, Inspection

MOST = 10  # sent at once
STEP = "seal"


@needs(permissions.RECORD_JOB)
@require_POST
def bench_documents(request, pk):
    """Keep the papers sent; those that cannot be kept are named, the others stay kept."""
    rows = Inspection.objects.visible_to(request.user).open().select_related("device")
    job = get_object_or_404(rows, pk=pk)
    require(request.user, permissions.RECORD_JOB, job.site_id)
    papers, faults = _read(request.FILES.getlist("documents"))
    try:
        keep_documents(job, papers, by=request.user, at=clock.now())
    except Refused as refused:
        faults = refused.faults
    return _answer(request, job, faults)


def _read(files) -> tuple[list[Paper], list[Fault]]:
    papers, faults = [], []
    if not files:
        faults.append(Fault("documents", "", "at least one file"))
    for file in files[:MOST]:
        name = Path(file.name or "paper").name
        try:
            if file.size > LARGEST_BYTES:  # without reading it
                raise NotADocument("a file of at most 20 MB")
            papers.append(paper_of(file.read(), name))
        except NotADocument as error:
            faults.append(Fault("documents", name[:80], error.expected))
    if len(files) > MOST:
        faults.append(Fault("documents", str(len(files)), f"at most {MOST} files at once"))
    return papers, faults


def _answer(request, job: Inspection, faults: list[Fault]):
    if not faults:
        return redirect("bench_step", job.pk, STEP)
    context = {"job": job, "step": STEP, "faults": faults, "documents": job.documents.all()}
    return render(request, "inspections/documents_refused.html", context, status=422)


@needs(permissions.READ)
@require_safe
def document(request, pk):
    """The paper, to whoever sees its record: saved, never opened as a page of this site."""
    row = get_object_or_404(Document.objects.visible_to(request.user), pk=pk)
    path = Path(default_storage.path(row.stored_at))
    if not path.is_file():
        raise Http404
    answer = FileResponse(
        path.open("rb"), content_type=row.kind, as_attachment=True, filename=row.name
    )
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Security-Policy"] = "default-src 'none'; sandbox"
    answer["Cache-Control"] = "private, no-cache"
    return answer


@needs(permissions.RECORD_JOB)
@require_POST
def document_remove(request, pk):
    """Take a paper away while its job is open."""
    rows = Document.objects.visible_to(request.user).select_related("inspection__device")
    row = get_object_or_404(rows, pk=pk)
    require(request.user, permissions.RECORD_JOB, row.inspection.site_id)
    faults = []
    try:
        remove_document(row, by=request.user, at=clock.now())
    except Refused as refused:
        faults = refused.faults
    return _answer(request, row.inspection, faults)
