"""A maker's model: its devices, and the limits of its parts, which an engineer edits."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render

from fleet import clock, permissions
from fleet.faults import Refused
from fleet.models import Device, DeviceModel
from fleet.views.guard import needs
from inspections.actions.limits import remove_limit, save_limit
from inspections.calc.parts import Usual, trade_of
from inspections.forms.limits import PartLimitForm
from inspections.models import PartLimit
from inspections.reports.points import points_of

SHOWN = 50  # devices of the model on its page


@needs(permissions.READ)
def device_model(request, pk):
    """The model on one page: what its parts may measure, what it can be set to, its devices."""
    model = get_object_or_404(DeviceModel, pk=pk)
    devices = Device.objects.visible_to(request.user).filter(model=model).order_by("number")
    context = {
        "model": model,
        "limits": model.part_limits.order_by("part", "measure"),
        "points": points_of(model),
        "devices": devices[:SHOWN],
        "device_count": devices.count(),
        "may_edit": request.user.may(permissions.EDIT_MODEL),
    }
    return render(request, "inspections/device_model.html", context)


@needs(permissions.EDIT_MODEL)
def part_limit_new(request, pk):
    """Add a limit to a model."""
    model = get_object_or_404(DeviceModel, pk=pk)
    return _edit(request, model, PartLimit(model=model))


@needs(permissions.EDIT_MODEL)
def part_limit(request, pk):
    """Change a limit, or take it away."""
    limit = get_object_or_404(PartLimit.objects.select_related("model"), pk=pk)
    if request.method == "POST" and "remove" in request.POST:
        words = f"{limit} is no longer a limit. Figures written down stay."
        remove_limit(limit, by=request.user, at=clock.now())
        messages.success(request, words)
        return redirect("model", limit.model_id)
    return _edit(request, limit.model, limit)


def _edit(request, model: DeviceModel, limit: PartLimit):
    names = PartLimitForm.base_fields
    form = PartLimitForm(request.POST or None, initial={n: getattr(limit, n) for n in names})
    if request.method == "POST" and form.is_valid():
        try:
            save_limit(form.limit(limit), by=request.user, at=clock.now())
        except Refused as refused:
            form.show(refused.faults)
        else:
            messages.success(request, f"{limit} is kept.")
            return redirect("model", model.pk)
    kinds = Device.objects.filter(model=model).values_list("kind", flat=True).distinct()
    trades = [trade_of(kind) for kind in kinds] or [trade_of("")]
    usual: list[Usual] = [usual for trade in trades for usual in trade.usual]
    context = {
        "model": model,
        "form": form,
        "is_new": limit.pk is None,
        "parts": sorted({part for trade in trades for part in trade.parts}),
        "measures": sorted({each.measure for each in usual}),
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "inspections/part_limit.html", context, status=status)
