"""One device, whole: identity, where it is, what it owes, its settings over the years."""

from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from fleet import clock, permissions
from fleet.models import Device
from fleet.reports.due import DueList
from fleet.tables.due import status_words
from fleet.views.guard import needs
from inspections.drawings.settings_history import settings_history
from inspections.reports.device import DeviceStory, story_of
from inspections.reports.hand_tag import last_tested, why_no_tag
from inspections.reports.panels import panel_of
from inspections.tables.settings import reasons_of


@needs(permissions.READ)
def device(request, pk):
    """The device's story on one screen; every mark and every line opens its record."""
    rows = Device.objects.visible_to(request.user).select_related("model", "site")
    row = get_object_or_404(rows, pk=pk)
    due = DueList(clock.today(), request.user)
    story, tested = story_of(row, due), last_tested(row.pk, request.user)
    context = {
        "device": row,
        "story": story,
        "history": _history(story),
        "why": [(setting, reasons_of(setting)) for setting in story.flagged],
        "owed": [(line, status_words(line)) for line in story.owed],
        "instructions": row.instructions.select_related("signed_by").order_by(
            "setting", "-from_on"
        ),
        "may_instruct": request.user.may(permissions.INSTRUCT_SETTING, row.site_id),
        "may_record": request.user.may(permissions.RECORD_JOB, row.site_id),
        "tested": tested,
        "has_tag": tested is not None and not why_no_tag(tested),
    }
    return render(request, "inspections/device.html", context)


def _history(story: DeviceStory):
    history = story.history
    if history is None:
        return None

    def address(ref: str) -> str:
        return reverse("inspection", args=[history.records[ref]])

    panels = [panel_of(row.one, row.point, address) for row in story.rows]
    return settings_history(panels, story.as_of)
