"""Photos: taken up on a step of the walk, shown through a permission check, taken away again."""

from dataclasses import asdict
from pathlib import Path

from django.core.files.storage import default_storage
from django.http import FileResponse, Http404, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_POST

from fleet import clock, permissions
from fleet.faults import Fault, Refused
from fleet.views.guard import needs, require
from inspections.actions.photos import keep_photos, remove_photo
from inspections.calc.pictures import LARGEST_BYTES, NotAPicture, Picture, picture_of
from inspections.models import Inspection, Photo

MOST = 20  # sent at once
STEPS = ("arrival", "receipt", "inspect", "disc")


@needs(permissions.RECORD_JOB)
@require_POST
def bench_photos(request, pk, step):
    """Keep the photos sent; those that cannot be kept are named, the others stay kept. A photo
    that waited on a tablet says who took it (typed_by), and is kept for nobody else."""
    if step not in STEPS:
        raise Http404
    rows = Inspection.objects.visible_to(request.user).select_related("device")
    job = get_object_or_404(rows, pk=pk)
    require(request.user, permissions.RECORD_JOB, job.site_id)
    if request.POST.get("typed_by", str(request.user.pk)) != str(request.user.pk):
        return JsonResponse({"user": request.user.pk}, status=409)
    pictures, faults = _read(request.FILES.getlist("photos"))
    try:
        new = keep_photos(job, pictures, step=step, by=request.user, at=clock.now())
    except Refused as refused:
        new, faults = [], refused.faults
    twice = len(pictures) - len(new) if not faults else 0
    return _answer(request, job, step, faults, twice)


def _read(files) -> tuple[list[Picture], list[Fault]]:
    pictures, faults = [], []
    if not files:
        faults.append(Fault("photos", "", "at least one photo"))
    for file in files[:MOST]:
        name = Path(file.name or "photo").name[:80]
        try:
            if file.size > LARGEST_BYTES:  # without reading it
                raise NotAPicture("a photo of at most 20 MB")
            pictures.append(picture_of(file.read()))
        except NotAPicture as error:
            faults.append(Fault("photos", name, error.expected))
    if len(files) > MOST:
        faults.append(Fault("photos", str(len(files)), f"at most {MOST} photos at once"))
    return pictures, faults


def _answer(request, job: Inspection, step: str, faults: list[Fault], twice: int):
    """The photos of the job again: a part of the page, or the page where no script runs."""
    is_outbox = "json" in request.headers.get("Accept", "")
    if not request.htmx and not is_outbox and not faults:
        return redirect("bench_step", job.pk, step)
    context = {"job": job, "step": step, "photos": job.photos.all(), "faults": faults}
    if is_outbox:
        said = {"user": request.user.pk, "twice": twice, "faults": [asdict(f) for f in faults]}
        part = render_to_string("inspections/photos.html", context, request)
        return JsonResponse(said | {"part": part})
    page = "photos" if request.htmx else "photos_refused"
    # 200 for a part: a script swaps nothing else in, and the words are in it
    status = 422 if faults and not request.htmx else 200
    context["twice"] = twice
    return render(request, f"inspections/{page}.html", context, status=status)


@needs(permissions.READ)
def photo(request, pk):
    """The photo, to whoever sees its record, and to nobody else."""
    row = get_object_or_404(Photo.objects.visible_to(request.user), pk=pk)
    return _served(request, row, row.stored_at)


@needs(permissions.READ)
def photo_small(request, pk):
    row = get_object_or_404(Photo.objects.visible_to(request.user), pk=pk)
    return _served(request, row, row.small_at)


def _served(request, row: Photo, name: str) -> HttpResponse:
    """Never guessed at by the browser, never kept by it without asking here again."""
    etag = f'"{Path(name).stem}"'
    answer = get_conditional_response(request, etag=etag)
    if answer is None:
        path = Path(default_storage.path(name))
        if not path.is_file():
            raise Http404
        answer = FileResponse(path.open("rb"), content_type=row.kind)
        answer["Content-Disposition"] = f'inline; filename="photo-{row.pk}.jpg"'
    answer["ETag"] = etag
    answer["Cache-Control"] = "private, no-cache"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


@needs(permissions.RECORD_JOB)
@require_POST
def photo_remove(request, pk):
    """Take a photo away while its job is open."""
    rows = Photo.objects.visible_to(request.user).select_related("inspection__device")
    row = get_object_or_404(rows, pk=pk)
    job, step = row.inspection, row.step or STEPS[0]
    require(request.user, permissions.RECORD_JOB, job.site_id)
    faults = []
    try:
        remove_photo(row, by=request.user, at=clock.now())
    except Refused as refused:
        faults = refused.faults
    return _answer(request, job, step, faults, 0)
