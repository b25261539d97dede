"""Sampled groups: what each needs in any window, and who of it is next."""

from django.http import Http404, HttpResponseBadRequest
from django.shortcuts import get_object_or_404, render

from fleet import clock, permissions
from fleet.drawings.axis import axis_head
from fleet.drawings.group_lanes import Frame, group_months, member_lane
from fleet.drawings.scene import Scene
from fleet.drawings.window_steps import window_steps
from fleet.filters import DayFilter
from fleet.listing import InHand, export_asked, paged, sort_asked
from fleet.models import Obligation
from fleet.replays import GROUP_SAMPLE
from fleet.reports.group import Group
from fleet.reports.group_rows import COLUMNS, MemberRow
from fleet.reports.groups import COLUMNS as GROUP_COLUMNS
from fleet.reports.groups import GroupList
from fleet.tables.groups import GROUP_KEYS, MEMBER_KEYS, GroupTable, MemberTable, held_words, who
from fleet.views.due import exports_of
from fleet.views.guard import needs

LANES = 40  # more members than that are drawn month by month


@needs(permissions.READ)
def groups(request):
    """Every sampled group at the reader's sites."""
    asks = DayFilter(request.GET, user=request.user)
    found = GroupList(asks.day(), request.user)
    rows = InHand(found.living, GROUP_KEYS)
    if asks.errors and "export" in request.GET:
        return HttpResponseBadRequest("Not exported: what is asked was not understood.")
    sort = sort_asked(request, GROUP_KEYS, "group")
    name = f"sampled-groups-{found.as_of}"
    exported = export_asked(
        request, name, GROUP_COLUMNS, lambda: (row.as_dict() for row in rows.in_order(sort))
    )
    if exported:
        return exported
    context = {
        "table": paged(request, GroupTable(rows, has_sites=len(request.user.site_ids()) > 1)),
        "asks": asks,
        "as_of": found.as_of,
        "is_today": found.as_of == clock.today(),
        "short": sum(bool(row.summary.short) for row in found.living),
        "empty": found.empty,
        "exports": exports_of(request),
    }
    return render(request, "fleet/groups.html", context)


@needs(permissions.READ)
def group(request, pk):
    """The group an obligation is, or was, sampled in."""
    rows = Obligation.objects.visible_to(request.user).select_related("rule", "position__site")
    owed = get_object_or_404(rows, pk=pk)
    if owed.rule.kind != GROUP_SAMPLE:
        raise Http404
    asks = DayFilter(request.GET, user=request.user)
    found = Group(owed, asks.day(), request.user)
    members = InHand(found.rows, MEMBER_KEYS)
    if asks.errors and "export" in request.GET:
        return HttpResponseBadRequest("Not exported: what is asked was not understood.")
    sort = sort_asked(request, MEMBER_KEYS, "order")
    name = f"group-{owed.pk}-{found.as_of}"
    exported = export_asked(
        request, name, COLUMNS, lambda: (row.as_dict() for row in members.in_order(sort))
    )
    if exported:
        return exported
    context = {
        "owed": owed,
        "group": found,
        "said": found.summary,
        "held": held_words(found.summary),
        "who": who(found.summary),
        "table": paged(request, MemberTable(members)),
        "asks": asks,
        "as_of": found.as_of,
        "is_today": found.as_of == clock.today(),
        "exports": exports_of(request),
    }
    return render(request, "fleet/group.html", context | _drawn(found))


def _drawn(found: Group) -> dict[str, object]:
    """Every drawing on one axis: a lane a member, or the months of many; the windows beneath."""
    if not found.rows:
        return {}
    days = [test.on for row in found.rows for test in row.tests]
    days += [row.due.counted_from for row in found.rows if row.due.counted_from]
    frame = Frame.of(found.as_of, found.shape.window, found.shape.gap, days)
    many = len(found.rows) > LANES
    return {
        "head": axis_head(frame.axis, frame.as_of),
        "lanes": [] if many else [(row, _lane(frame, row)) for row in found.rows],
        "months": _months(frame, found.rows) if many else None,
        "windows": window_steps(frame, found.steps),
    }


def _lane(frame: Frame, row: MemberRow) -> Scene:
    due = row.due
    return member_lane(
        frame, row.tests, due.counted_from, due.due_on, due.deferred_until, due.status
    )


def _months(frame: Frame, rows: list[MemberRow]) -> Scene:
    tests = [test for row in rows for test in row.tests if test.is_here]
    return group_months(frame, tests, [row.due.due_on for row in rows if row.due.due_on])
