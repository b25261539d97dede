"""The arithmetic behind a device's flags, and an engineer's answer to one of them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from fleet import clock, permissions
from fleet.faults import Fault, Refused
from fleet.models import Device
from fleet.reports.due import DueList, DueRow
from fleet.views.guard import needs, require
from inspections.actions.acknowledge import acknowledge
from inspections.actions.assess import POPPED
from inspections.kept.catching_up import catch_up_if_few
from inspections.models import FlagState, Screening
from inspections.reports.arithmetic import arithmetic_of
from inspections.reports.device import story_of
from inspections.reports.settings import SettingRow
from inspections.tables.settings import reasons_of


@dataclass(frozen=True)
class Shown:
    """One flag on the page: its reasons, its answer, and what an answer to it would be about."""

    code: str
    reasons: Sequence[str]
    kept: FlagState | None


@needs(permissions.READ)
@require_safe
def device_arithmetic(request, pk):
    """Every movement, what is reckoned from them, and what is flagged for it."""
    device = _device(request.user, pk)
    return _page(request, device, [])


def _device(user, pk) -> Device:
    rows = Device.objects.visible_to(user).select_related("model", "site")
    return get_object_or_404(rows, pk=pk)


def _page(request, device: Device, faults: Iterable[Fault]) -> HttpResponse:
    catch_up_if_few(at=clock.now())
    story = story_of(device, DueList(clock.today(), request.user))
    screening, due_on = Screening.objects.of_today(), next_test(story.owed)
    flags = _flags(device)
    parts = [(arithmetic_of(row, screening, due_on), _shown(row, flags)) for row in story.rows]
    context = {
        "device": device,
        "story": story,
        "parts": parts,
        "due_on": due_on,
        "faults": list(faults),
        "may_answer": request.user.may(permissions.ACKNOWLEDGE_FLAG, device.site_id),
    }
    status = 422 if context["faults"] else 200
    return render(request, "inspections/device_arithmetic.html", context, status=status)


def next_test(owed: Iterable[DueRow]) -> date | None:
    """The first day by which the device owes a test that pops it."""
    days = [row.due_on for row in owed if row.due_on and row.activity in POPPED]
    return min(days, default=None)


def _flags(device: Device) -> dict[tuple[str, str], FlagState]:
    rows = FlagState.objects.filter(state__screening__day=None, state__device=device)
    rows = rows.select_related("state", "acknowledgement__recorded_by")
    return {(flag.state.setting, flag.code): flag for flag in rows}


def _shown(row: SettingRow, flags: dict[tuple[str, str], FlagState]) -> list[Shown]:
    return [
        Shown(code, reasons, flags.get((row.setting, code))) for code, reasons in reasons_of(row)
    ]


@needs(permissions.ACKNOWLEDGE_FLAG)
@require_POST
def device_acknowledge(request, pk):
    """Answer a flag as it stood on the page."""
    device = _device(request.user, pk)
    require(request.user, permissions.ACKNOWLEDGE_FLAG, device.site_id)
    typed = request.POST
    try:
        said = acknowledge(
            device=device.pk,
            setting=typed.get("setting", ""),
            code=typed.get("code", ""),
            fingerprint=typed.get("fingerprint", ""),
            note=typed.get("note", ""),
            by=request.user,
            at=clock.now(),
        )
    except Refused as refused:
        return _page(request, device, refused.faults)
    messages.success(request, "Kept. It is quiet until something new happens.")
    answer = redirect("device_arithmetic", device.pk)
    answer["Location"] += f"#{said.setting}"
    return answer
