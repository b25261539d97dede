"""The bench: my open jobs, and the walk of one job, a step a page."""

from django.contrib import messages
from django.db.models import Q
from django.http import HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from fleet import clock, permissions
from fleet.faults import Fault, Refused
from fleet.models import Device
from fleet.views.guard import needs, require, version_of
from inspections.actions.becoming import BECOMES, become_overhaul
from inspections.actions.gates import STRIPS, before_signing, before_stripping
from inspections.actions.outside import unreceived
from inspections.actions.records import Record, records_of
from inspections.actions.seconding import not_another, unseconded
from inspections.actions.sign import sign
from inspections.actions.start import start
from inspections.actions.step import ChangedMeanwhile, save_step
from inspections.actions.targets import Target, targets_of
from inspections.forms.merging import merge
from inspections.forms.walk import STEPS, StartForm, walk_of
from inspections.models import Inspection
from inspections.reports.offers import gauge_offer
from inspections.views.edits import kept_on_tablet, settle_saved
from inspections.views.missing import placed
from inspections.views.scanning import device_scanned

AFTER_STRIPPING = ("inspect", "reassemble", "as_left", "vac_left", "seal")
POPS_SHOWN = ("as_received", "as_left")  # where it shows that a tested valve wants an overhaul
SHOWN = 100  # jobs on the bench page; the search finds the rest


@needs(permissions.READ)
def bench(request):
    """Open jobs of my sites, those waiting for a second person, and a way to open one."""
    jobs = (
        Inspection.objects.visible_to(request.user)
        .open()
        .select_related("device", "position", "done_by", "recorded_by")
        .order_by("-done_on", "-pk")
    )
    form = StartForm(initial={"done_on": clock.today(), "device": request.GET.get("device", "")})
    unsigned, signed = jobs.filter(signed_at=None), jobs.exclude(signed_at=None)
    page = render(
        request,
        "inspections/bench.html",
        {
            "open_jobs": unsigned[:SHOWN],
            "open_count": unsigned.count(),
            "to_verify": signed[:SHOWN],
            "to_verify_count": signed.count(),
            "shown": SHOWN,
            "form": form,
            "may_record": request.user.may(permissions.RECORD_JOB),
        },
    )
    return kept_on_tablet(page, request.user)


@needs(permissions.RECORD_JOB)
def bench_start(request):
    """Open a job for the device typed: its number, its serial, or the tag it stands at."""
    form = StartForm(request.POST or None, initial={"done_on": clock.today()})
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            device = _device(request, data["device"])
            require(request.user, permissions.RECORD_JOB, device.site_id)
            job = start(
                device,
                activity=data["activity"],
                done_on=data["done_on"],
                method=data["certified_by"],
                shop=data["shop"],
                sent_on=data["sent_on"],
                by=request.user,
                at=clock.now(),
            )
        except Refused as refused:
            _onto(form, refused.faults)
        else:
            return redirect("bench_step", job.pk, walk_of(job)[0])
    status = 422 if form.is_bound else 200
    return render(request, "inspections/bench_start.html", {"form": form}, status=status)


def _device(request, typed: str) -> Device:
    """The one device this names. Raises Refused when it names none, or several."""
    typed = typed.strip()
    scanned = device_scanned(request, typed)
    named = Q(number__iexact=typed) | Q(serial__iexact=typed) | Q(pk=scanned)
    fitted = Q(
        installations__removed_on=None,
        installations__voided_at=None,
        installations__position__tag__iexact=typed,
    )
    found = list(Device.objects.visible_to(request.user).filter(named | fitted).distinct()[:3])
    if len(found) == 1:
        return found[0]
    expected = (
        "a device number, a serial, or a tag with a device fitted"
        if not found
        else f"one device; it could be {', '.join(device.number for device in found)}"
    )
    raise Refused([Fault("device", typed, expected)])


@needs(permissions.RECORD_JOB)
def bench_step(request, pk, step):
    """One step: shown, or saved over the version it was opened on."""
    job = _open_job(request.user, pk)
    if step not in walk_of(job):
        return redirect("bench_step", job.pk, walk_of(job)[0])
    if request.method == "POST":
        return _save(request, job, step)
    [record] = records_of([job])
    targets = targets_of(job)
    form = STEPS[step](record=record, targets=targets)
    return _page(request, job, step, form, record, targets)


def _open_job(user, pk) -> Inspection:
    rows = Inspection.objects.visible_to(user).open()
    job = get_object_or_404(rows.select_related("device", "position"), pk=pk)
    require(user, permissions.RECORD_JOB, job.site_id)
    return job


def _save(request, job: Inspection, step: str):
    """Save what was typed; if the record moved on meanwhile, lay it over what is there now."""
    [record] = records_of([job])
    targets = targets_of(job)
    typed, clashes = request.POST, []
    if request.POST.get("version") != str(job.version):
        fresh = STEPS[step](record=record, targets=targets)
        typed, clashes = merge(request.POST, fresh)
    form = STEPS[step](typed, record=record, targets=targets)
    if clashes or not form.is_valid():
        return _page(request, job, step, form, record, targets, clashes)
    try:
        save_step(job, form.to_step(), version=job.version, by=request.user, at=clock.now())
    except ChangedMeanwhile:
        return _save(request, _open_job(request.user, job.pk), step)
    except Refused as refused:
        _onto(form, refused.faults)
        return _page(request, job, step, form, record, targets)
    settle_saved(request, job, step)
    if typed is not request.POST:
        messages.info(request, "Somebody saved this job meanwhile. Theirs and yours are both kept.")
    if job.signed_at is not None:
        messages.warning(request, "This job was signed. Now that it is changed, sign it again.")
    return _onward(request, job, step)


def _onward(request, job: Inspection, step: str) -> HttpResponseRedirect:
    if "overhaul" in request.POST and job.activity in BECOMES:
        return _become(request, job, step)
    if "leave" in request.POST:
        return redirect("bench")
    [record] = records_of([job])
    if _waiting(job, step, record, targets_of(job)):
        return redirect("bench_step", job.pk, step)  # which says what must be read first
    return redirect(_after(job, step))


def _become(request, job: Inspection, step: str) -> HttpResponseRedirect:
    """What was typed is saved by now; the test goes on as an overhaul where that strips next."""
    job = _open_job(request.user, job.pk)
    try:
        job = become_overhaul(job, version=job.version, by=request.user, at=clock.now())
    except (ChangedMeanwhile, Refused):  # somebody saved it, or turned it, in this very moment
        messages.warning(request, "Somebody saved this job just now. Look, and press again.")
        return redirect("bench_step", job.pk, step)
    messages.success(request, "An overhaul now. All that was found stays as it was written.")
    return redirect("bench_step", job.pk, _next_of(job, "as_received"))


def _next_of(job: Inspection, step: str) -> str:
    walk = walk_of(job)
    return walk[walk.index(step) + 1]


def _after(job: Inspection, step: str) -> str:
    """Where the walk goes on from a step."""
    walk = walk_of(job)
    if step == walk[-1]:
        return reverse("bench_sign", args=[job.pk])
    return reverse("bench_step", args=[job.pk, _next_of(job, step)])


def _waiting(job: Inspection, step: str, record: Record, targets: list[Target]) -> list[Fault]:
    """What has to be read while the valve is still as it came, where that is already past."""
    is_late = job.activity in STRIPS and step in AFTER_STRIPPING
    return before_stripping(record, targets) if is_late else []


def _page(request, job, step, form, record, targets, clashes=()):
    page = render(
        request,
        f"inspections/bench_{step}.html",
        {
            "job": job,
            "form": form,
            "record": record,
            "steps": _steps(job, step),
            "waiting": _waiting(job, step, record, targets),
            "clashes": clashes,
            "version": job.version,
            "onward": _after(job, step),
            "offer": gauge_offer(job, request.user) if step == "as_received" else None,
            "becomes": job.activity in BECOMES
            and step in POPS_SHOWN
            and "receipt" not in walk_of(job),
        },
        status=422 if form.is_bound and not clashes else 409 if clashes else 200,
    )
    return kept_on_tablet(page, request.user, job.version)


def _steps(job: Inspection, here: str) -> list[dict]:
    walk = walk_of(job)
    reached = walk.index(job.step) if job.step in walk else -1
    return [
        {
            "name": name,
            "title": STEPS[name].title,
            "url": reverse("bench_step", args=[job.pk, name]),
            "mark": "now" if name == here else "done" if place <= reached else "",
        }
        for place, name in enumerate(walk)
    ]


@needs(permissions.RECORD_JOB)
def bench_sign(request, pk):
    """What is still missing, or the signature."""
    job = _open_job(request.user, pk)
    [record] = records_of([job])
    targets = targets_of(job)
    faults = (
        before_signing(record, targets) + unreceived(record) + not_another(record, request.user)
    )
    if request.method == "POST":
        try:
            sign(job, version=version_of(request), by=request.user, at=clock.now())
        except Refused as refused:
            faults = refused.faults
        else:
            messages.success(request, "Signed. A second person verifies it now.")
            return redirect("inspection", job.pk)
    context = {
        "job": job,
        "record": record,
        "missing": list(placed(job, faults, walk_of(job))),
        "unseconded": unseconded(record, targets),
        "steps": _steps(job, "seal"),
    }
    return render(
        request,
        "inspections/bench_sign.html",
        context,
        status=409 if request.method == "POST" else 200,
    )


def _onto(form, faults: list[Fault]) -> None:
    """A fault stands beside the field it names, or above the form."""
    for fault in faults:
        words = f"“{fault.typed}”: {fault.expected}" if fault.typed else fault.expected
        form.add_error(fault.field if fault.field in form.fields else None, words)
