"""Setting a model up: what its devices can be set to, and how each is counted."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render

from fleet import clock, permissions
from fleet.faults import Refused
from fleet.models import DeviceModel
from fleet.views.guard import needs
from inspections.actions.points import set_up
from inspections.calc.readings import same_datum
from inspections.forms.points import NAMES, PointForm
from inspections.models import SettingPoint, SettingReading


@needs(permissions.EDIT_MODEL)
def setting_point_new(request, pk):
    """Add a setting to a model."""
    model = get_object_or_404(DeviceModel, pk=pk)
    return _edit(request, SettingPoint(model=model))


@needs(permissions.EDIT_MODEL)
def setting_point(request, pk):
    """Say anew how a setting is counted, from now on."""
    point = get_object_or_404(SettingPoint.objects.select_related("model"), pk=pk)
    return _edit(request, point)


def _edit(request, point: SettingPoint):
    datum, is_new = point.datum, point.pk is None
    form = PointForm(request.POST or None, point=point)
    if request.method == "POST" and form.is_valid():
        try:
            set_up(form.saved(), by=request.user, at=clock.now())
        except Refused as refused:
            form.refuse(refused.faults)
        else:
            messages.success(request, f"{point.model}: {form.cleaned_data['setting']} is set up.")
            if not is_new and not same_datum(datum, point.datum):
                messages.warning(
                    request,
                    "Records keep the datum they were read in. Readings from now on are counted"
                    " from the new one, and are not compared with those before.",
                )
            return redirect("model", point.model_id)
    kept = SettingReading.objects.filter(
        inspection__device__model=point.model_id, setting=point.setting
    )
    context = {
        "form": form,
        "point": point,
        "is_new": is_new,
        "names": NAMES,
        "kept": 0 if is_new else kept.count(),
    }
    status = 422 if form.is_bound else 200
    return render(request, "inspections/setting_point.html", context, status=status)
