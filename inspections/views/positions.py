"""The register: positions, devices, and one position whole."""

from datetime import date
from functools import partial

from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from fleet import clock, permissions
from fleet.actions.decisions import takes_decision
from fleet.drawings.axis import TimeAxis, axis_head
from fleet.drawings.interval_line import OutageSpan, interval_line
from fleet.filters import DeviceFilter, PositionFilter
from fleet.listing import export_asked, paged
from fleet.models import Position
from fleet.reports.chances import ON_STREAM
from fleet.reports.devices import DEVICE_COLUMNS, Devices
from fleet.reports.due import DueList
from fleet.reports.positions import POSITION_COLUMNS, Positions
from fleet.tables import DeviceTable, PositionTable
from fleet.tables.due import status_words
from fleet.views.due import exports_of
from fleet.views.guard import needs
from inspections.drawings.settings_history import history_axis, settings_history
from inspections.drawings.stays import stays_strip
from inspections.reports.position import Owed, PositionStory, story_of
from inspections.reports.position_history import history_of


@needs(permissions.READ)
def register(request):
    """Every position: what it asks for, what is fitted, what it owes next."""
    asks = PositionFilter(request.GET, user=request.user)
    positions = Positions(request.user, clock.today(), asks.ask())
    exported = export_asked(request, "positions", POSITION_COLUMNS, positions.every_row)
    return exported or _list(request, "register", PositionTable(positions), asks)


@needs(permissions.READ)
def devices(request):
    """Every device, and where it is."""
    asks = DeviceFilter(request.GET, user=request.user)
    rows = Devices(request.user, asks.ask())
    exported = export_asked(request, "devices", DEVICE_COLUMNS, rows.every_row)
    return exported or _list(request, "devices", DeviceTable(rows), asks)


def _list(request, here: str, table, asks):
    context = {
        "here": here,
        "table": paged(request, table),
        "asks": asks,
        "exports": exports_of(request),
        "may_load": request.user.may(permissions.LOAD_WORKBOOK),
    }
    return render(request, "inspections/register.html", context)


@needs(permissions.READ)
def position(request, pk):
    """One position: identity and duty, what is fitted, what is owed and why, and its history."""
    rows = Position.objects.visible_to(request.user)
    row = get_object_or_404(rows.select_related("site", "unit", "equipment"), pk=pk)
    due = DueList(clock.today(), request.user)
    story = story_of(row, due)
    axis = TimeAxis.around(due.as_of)
    context = {
        "position": row,
        "story": story,
        "axis_head": axis_head(axis, due.as_of),
        "owed": [_drawn(owed, due, axis) | _open_to(request.user, owed) for owed in story.owed],
        "may_fit": request.user.may(permissions.FIT_DEVICE, row.site_id),
        "may_tell": request.user.may(permissions.RECORD_HAPPENING, row.site_id),
        "chances": due.seen.chances.of(row.unit_id),
    }
    return render(request, "inspections/position.html", context | _history(story, due.as_of))


def _history(story: PositionStory, day: date) -> dict:
    """What the devices fitted here read, drawn over one axis; words alone where nothing was."""
    history = history_of(story.spells, day, partial(_page, "inspection"), partial(_page, "device"))
    if history is None or not history.panels:
        return {"history": history}
    axis = history_axis(history.panels, day)
    return {
        "history": history,
        "drawn": settings_history(history.panels, day, axis),
        "strip": stays_strip(history.runs, axis, day),
    }


def _page(name: str, pk: int) -> str:
    return reverse(name, args=[pk])


def _drawn(owed: Owed, due: DueList, axis: TimeAxis) -> dict:
    row = owed.row
    chances = due.seen.chances.of(row.line.unit)
    return {
        "owed": owed,
        "is_on_stream": row.activity in ON_STREAM,
        "row": row,
        "words": status_words(row),
        "line": interval_line(
            axis,
            row.counted_from,
            row.due_on,
            due.as_of,
            [OutageSpan(c.starts_on, c.ends_on, c.name) for c in chances],
            row.deferred_until,
            row.status,
        ),
    }


def _open_to(user, owed: Owed) -> dict[str, bool]:
    """What this reader may do about one thing owed here."""
    row = owed.row
    is_ahead = row.due_on is not None and row.due_on >= clock.today()
    is_free = is_ahead and row.deferred_until is None and owed.waiting is None
    decides = owed.obligation is not None and takes_decision(owed.obligation)
    return {
        "may_ask": is_free and user.may(permissions.REQUEST_DEFERRAL, row.line.site),
        "may_answer": user.may(permissions.APPROVE_DEFERRAL, row.line.site),
        "may_decide": decides and user.may(permissions.DECIDE_INTERVAL, row.line.site),
    }
