"""The set-pressure tolerances: the library's and the site's own, added and replaced by form."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from fleet import clock, permissions
from fleet.actions.as_left import leave_within
from fleet.actions.replacing import duties_naming
from fleet.actions.rules import add_tolerances, problems_of_tolerance, replace_tolerance
from fleet.faults import Refused
from fleet.forms.as_left import AsLeftForm
from fleet.forms.tolerances import ToleranceForm
from fleet.listing import export_asked
from fleet.models import PositionDuty, Site, ToleranceBand
from fleet.reports.tolerances import COLUMNS, ToleranceRow, tolerance_rows
from fleet.views.due import exports_of
from fleet.views.guard import needs, require

SHOWN = 20


@needs(permissions.READ)
def tolerances(request):
    """Every tolerance, the site's own first."""
    rows = tolerance_rows(request.user, clock.today())
    exported = export_asked(request, "tolerances", COLUMNS, lambda: (row.as_dict() for row in rows))
    return exported or _page(request, rows)


def _page(request, rows: list[ToleranceRow], wrong: AsLeftForm | None = None):
    """wrong: the as-left form that was sent and could not be read."""
    sites = Site.objects.visible_to(request.user).select_related("as_left_tolerance")
    forms = [AsLeftForm(None, site=site, rows=rows) for site in sites.order_by("name")]
    context = {
        "rows": rows,
        "as_left": [wrong if wrong and wrong.site == form.site else form for form in forms],
        "may_leave": {
            form.site.pk
            for form in forms
            if request.user.may(permissions.MANAGE_RULES, form.site.pk)
        },
        "used": sum(bool(row.positions) for row in rows),
        "exports": exports_of(request),
        "may_manage": request.user.may(permissions.MANAGE_RULES),
    }
    return render(request, "fleet/tolerances.html", context, status=422 if wrong else 200)


@needs(permissions.MANAGE_RULES)
@require_POST
def site_as_left(request, pk):
    """What a site leaves its valves within, chosen or taken away."""
    sites = Site.objects.visible_to(request.user).select_related("as_left_tolerance")
    site = get_object_or_404(sites, pk=pk)
    require(request.user, permissions.MANAGE_RULES, site.pk)
    rows = tolerance_rows(request.user, clock.today())
    form = AsLeftForm(request.POST, site=site, rows=rows)
    if not form.is_valid():
        return _page(request, rows, form)
    stored = leave_within(site, form.code(), by=request.user, at=clock.now())
    named = stored.as_left_tolerance or "no tolerance of its own"
    messages.success(request, f"{site} leaves its valves within {named}.")
    return redirect("tolerances")


@needs(permissions.READ)
def tolerance(request, code):
    """One tolerance: its bands drawn and in a table, its source and history."""
    for row in tolerance_rows(request.user, clock.today()):
        if row.code == code:
            may = request.user.may(permissions.MANAGE_RULES)
            return render(request, "fleet/tolerance.html", {"row": row, "may_manage": may})
    raise Http404


@needs(permissions.MANAGE_RULES)
def tolerance_new(request):
    form = ToleranceForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        band = form.band()
        try:
            add_tolerances([band], by=request.user, at=clock.now())
        except Refused as refused:
            form.show(refused.faults)
        else:
            messages.success(request, f"{band} is in the library. No duty names it yet.")
            return redirect("tolerance", band.code)
    return _form(request, form, {})


def _form(request, form: ToleranceForm, more: dict):
    is_wrong = request.method == "POST" and not form.is_valid()
    sources = [form[name] for name in ("code", "citation", "edition", "is_verified")]
    names = ("basis", "atmosphere", "covers_from", "reseats_from", "from_on")
    context = {
        "form": form,
        "source_fields": sources,
        "other_fields": [form[name] for name in names],
        **more,
    }
    return render(request, "fleet/tolerance_form.html", context, status=422 if is_wrong else 200)


@needs(permissions.MANAGE_RULES)
def tolerance_replace(request, code):
    """Another tolerance in its place from a day on: which duties change is shown first."""
    old = get_object_or_404(ToleranceBand, code=code)
    form = ToleranceForm(request.POST or None, old=old)
    seen = None
    if request.method == "POST" and form.is_valid():
        seen = _duties(request, form, old)
        if seen is not None and not seen["elsewhere"] and request.POST.get("seen") == seen["key"]:
            new = form.band()
            places = replace_tolerance(old, new, new.from_on, by=request.user, at=clock.now())
            words = f"{new} replaces {old} from {new.from_on}: {len(places)} duties name it."
            messages.success(request, words)
            return redirect("tolerance", new.code)
    return _form(request, form, {"old": old, "seen": seen})


def _duties(request, form: ToleranceForm, old: ToleranceBand) -> dict | None:
    """The duties that would name the new one; None where it is refused, and the form says why."""
    new = form.band()
    faults = problems_of_tolerance(new)
    if not faults:
        try:
            duties = duties_naming(old, new.from_on)
        except Refused as refused:
            faults = refused.faults
        else:
            return _seen(request, duties, f"{new.code} {new.from_on} {new.definition}")
    form.show(faults)
    return None


def _seen(request, duties: list[PositionDuty], key: str) -> dict:
    may = request.user.may
    strange = [d for d in duties if not may(permissions.MANAGE_RULES, d.position.site_id)]
    duties.sort(key=lambda duty: duty.tag)
    return {
        "count": len(duties),
        "elsewhere": len(strange),
        "duties": [] if strange else duties[:SHOWN],
        "key": f"{key} {len(duties)}",
    }
