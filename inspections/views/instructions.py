"""Instructions for a device's settings: signed by an engineer, shown at the bench, ended."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render

from fleet import clock, permissions
from fleet.drawings.axis import day_words
from fleet.faults import Refused
from fleet.models import Device
from fleet.views.guard import needs, require
from inspections.actions.instructions import end, instruct
from inspections.actions.targets import Target, targets_of
from inspections.calc.naming import words_of
from inspections.forms.instructions import EndForm, InstructionForm
from inspections.models import Inspection, Instruction


@needs(permissions.INSTRUCT_SETTING)
def device_instruct(request, pk):
    """Sign an instruction for one setting of a device; what it outranks stands beside it."""
    rows = Device.objects.visible_to(request.user).select_related("model")
    device = get_object_or_404(rows, pk=pk)
    require(request.user, permissions.INSTRUCT_SETTING, device.site_id)
    targets = targets_today(device)
    chosen = request.GET.get("setting", "")
    form = InstructionForm(
        request.POST or None, targets=targets, today=clock.today(), setting=chosen
    )
    if request.method == "POST" and form.is_valid():
        try:
            row = instruct(form.instruction(device), by=request.user, at=clock.now())
        except Refused as refused:
            form.refuse(refused.faults)
        else:
            words = f"{words_of(row.setting).capitalize()} is to be {row.value} from {row.datum}"
            messages.success(request, f"{words}, from {day_words(row.from_on)}. You signed it.")
            return redirect("device", device.pk)
    context = {"form": form, "device": device, "targets": targets}
    status = 422 if form.is_bound else 200
    return render(request, "inspections/instruct.html", context, status=status)


def targets_today(device: Device) -> list[Target]:
    """What each setting of a device would be held to in a job of today."""
    return targets_of(Inspection(device=device, done_on=clock.today()))


@needs(permissions.INSTRUCT_SETTING)
def instruction_end(request, pk):
    """End an instruction: from that day the last as-left is the target again."""
    rows = Instruction.objects.visible_to(request.user).select_related("device", "signed_by")
    row = get_object_or_404(rows, pk=pk)
    require(request.user, permissions.INSTRUCT_SETTING, row.device.site_id)
    form = EndForm(request.POST or None, today=clock.today())
    if request.method == "POST" and form.is_valid():
        until = form.cleaned_data["until_on"]
        try:
            end(row, until, by=request.user, at=clock.now())
        except Refused as refused:
            form.refuse(refused.faults)
        else:
            messages.success(request, f"The instruction ends on {day_words(until)}.")
            return redirect("device", row.device_id)
    context = {"form": form, "row": row, "words": words_of(row.setting)}
    status = 422 if form.is_bound else 200
    return render(request, "inspections/instruction_end.html", context, status=status)
