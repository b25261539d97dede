"""What a tablet at the bench sends while somebody types, and the worker that keeps its pages."""

from contextlib import suppress
from dataclasses import asdict
from pathlib import Path

from django.http import HttpResponse, HttpResponseNotAllowed, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import never_cache

from fleet import clock, permissions
from fleet.views.guard import needs, require
from inspections.actions.edits import LOCKED, Turned, keep, open_edits, settle
from inspections.actions.records import records_of
from inspections.actions.targets import targets_of
from inspections.forms.edits import Unreadable, read_edits
from inspections.forms.inputs import StepForm
from inspections.forms.merging import shown
from inspections.forms.walk import STEPS
from inspections.models import FieldEdit, Inspection

WORKER = Path(__file__).resolve().parent.parent / "static/inspections/bench/sw.js"


@never_cache
@needs(permissions.RECORD_JOB)
def bench_edits(request, pk):
    """What stands typed and unsaved in this job; sent to, it keeps what was typed since.

    200 when all of it is kept, 409 when the record is locked, 422 when some cannot be kept: the
    answer always names what is kept and gives the rest back.
    """
    rows = Inspection.objects.visible_to(request.user).select_related("device", "position")
    job = get_object_or_404(rows, pk=pk)
    require(request.user, permissions.RECORD_JOB, job.site_id)
    if request.method not in ("GET", "HEAD", "POST"):
        return HttpResponseNotAllowed(["GET", "HEAD", "POST"])
    forms = _forms(job)
    if request.method != "POST":
        return _answer(request, job, forms, [], [])
    try:
        kept, turned = _kept(request, job, forms, request.body)
    except Unreadable as error:
        return JsonResponse({"why": f"expected {error}", "kept": [], "turned": []}, status=422)
    return _answer(request, job, forms, kept, turned)


def _forms(job: Inspection) -> dict[str, StepForm]:
    [record] = records_of([job])
    targets = targets_of(job)
    return {name: form(record=record, targets=targets) for name, form in STEPS.items()}


def _kept(request, job, forms, body) -> tuple[list[str], list[Turned]]:
    at = clock.now()
    fields = {name: form.fields for name, form in forms.items()}
    edits, turned = read_edits(body, user=request.user.pk, fields=fields, at=at)
    kept, refused = keep(job, edits, by=request.user, at=at)
    return kept, turned + refused


def _answer(request, job, forms, kept, turned) -> JsonResponse:
    stand = [edit for edit in open_edits(job) if _differs(edit, forms)]
    own = [edit for edit in stand if edit.typed_by_id == request.user.pk]
    others = [edit for edit in stand if edit.typed_by_id != request.user.pk]
    answer = {
        "user": request.user.pk,
        "job": job.pk,
        "version": job.version,
        "locked": job.locked_at is not None,
        "ref": job.ref,
        "token": get_token(request),
        "kept": kept,
        "turned": [asdict(one) for one in turned],
        "mine": [_told(edit) for edit in own],
        "others": [_told(edit) | {"name": str(edit.typed_by)} for edit in others],
    }
    locked = any(one.why == LOCKED for one in turned)
    return JsonResponse(answer, status=409 if locked else 422 if turned else 200)


def _differs(edit: FieldEdit, forms: dict[str, StepForm]) -> bool:
    """Is it something else than what is stored?"""
    form = forms.get(edit.step)
    if form is None or edit.field not in form.fields:
        return True
    return edit.typed != shown(form[edit.field]).replace("\r\n", "\n")


def _told(edit: FieldEdit) -> dict:
    return {
        "uuid": str(edit.uuid),
        "step": edit.step,
        "field": edit.field,
        "typed": edit.typed,
        "base_version": edit.base_version,
        "ago": int((clock.now() - edit.received_at).total_seconds()),
    }


def settle_saved(request, job: Inspection, step: str) -> None:
    """A step was saved: what it held is no longer unsaved, also where it had not come here yet.

    What the same person typed on another tablet, in a field that this page left alone, still
    stands.
    """
    with suppress(Unreadable):  # then it comes by itself, as it always does
        _kept(request, job, _forms(job), request.POST.get("edits") or "[]")
    saved = [
        edit.field
        for edit in open_edits(job)
        if (edit.step, edit.typed_by_id) == (step, request.user.pk)
        and _is_in(request.POST, edit.field, edit.typed)
    ]
    settle(job, step, saved, by=request.user, at=clock.now())


def _is_in(posted, field: str, typed: str) -> bool:
    sent = posted.get(field, "").replace("\r\n", "\n")
    return sent in (typed, typed.strip()) or sent != posted.get(f"initial-{field}", "")


@never_cache
@needs(permissions.READ)
def bench_worker(request):
    """The service worker: its address is its reach, so it cannot be served as a static file."""
    return HttpResponse(WORKER.read_text(), content_type="text/javascript; charset=utf-8")


def kept_on_tablet(page: HttpResponse, user, version: int | None = None) -> HttpResponse:
    """Say on a page for whom, and of which version, a tablet may keep it to be read offline."""
    page["X-Bench-User"] = str(user.pk)
    page["X-Job-Version"] = str(version or "")
    return page
