"""Outages: when units are down, what each has to take, and what moving one makes late."""

from datetime import date
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponseBadRequest
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.html import format_html

from fleet import clock, permissions, planning
from fleet.actions.outages import save_outages
from fleet.drawings.axis import TimeAxis, axis_head
from fleet.drawings.outage_strip import OutageBar, outage_strip
from fleet.filters import OutageFilter
from fleet.forms import OutageForm
from fleet.listing import export_asked, paged
from fleet.models import Outage, Plan, Unit
from fleet.reports.due import DueList
from fleet.reports.moves import moved
from fleet.reports.outages import COLUMNS, Scope, scope_of, scopes
from fleet.tables import OutageTable, ScopeTable
from fleet.views.due import exports_of
from fleet.views.guard import needs, require

OPEN = (Outage.Status.DRAFT, Outage.Status.PLANNED, Outage.Status.UNDER_WAY)
STANDS = (Outage.Status.PLANNED, Outage.Status.UNDER_WAY)
PLANNED_BY = {"starts_on", "ends_on", "units", "bench_hours", "weekly_hours"}


@needs(permissions.READ)
def outage_list(request):
    """Every outage still to come, on one strip of years, with what each has to take."""
    today = clock.today()
    asks = OutageFilter(request.GET, user=request.user)
    asked = asks.asked()
    outages = Outage.objects.visible_to(request.user).select_related("site")
    if unit := asked.get("unit"):
        outages = outages.filter(units=unit)
    if site := asked.get("site"):
        outages = outages.filter(site=site)
    every = list(outages.prefetch_related("units").distinct())
    ahead = [outage for outage in every if outage.ends_on >= today and outage.status in OPEN]
    due = DueList(today, request.user)
    standing = scopes([outage for outage in ahead if outage.status in STANDS], due)
    drafts = [Scope(o, due, (), o.ends_on) for o in ahead if o.status not in STANDS]
    rows = sorted([*standing, *drafts], key=lambda s: (s.outage.starts_on, s.outage.pk))
    axis = TimeAxis.around(today, days_back=300, days_ahead=1500)
    context = {
        "asks": asks,
        "table": paged(request, OutageTable(rows)),
        "past": [outage for outage in reversed(every) if outage not in ahead],
        "strip_head": axis_head(axis, today),
        "strips": strips(every, axis, today),
        "may_plan": request.user.may(permissions.PLAN_OUTAGES),
    }
    return render(request, "fleet/outage_list.html", context)


def strips(outages: list[Outage], axis: TimeAxis, today: date) -> list[tuple[Unit, object]]:
    """(unit, scene) for every unit that has an outage on the strip."""
    by_unit: dict[Unit, list[OutageBar]] = {}
    for outage in outages:
        if outage.status == Outage.Status.CANCELLED:
            continue
        bar = OutageBar(
            outage.starts_on,
            outage.ends_on,
            outage.name,
            reverse("outage", args=[outage.pk]),
            outage.status,
        )
        for unit in outage.units.all():
            by_unit.setdefault(unit, []).append(bar)
    units = sorted(by_unit, key=lambda unit: (unit.site_id, unit.name))
    return [(unit, outage_strip(axis, today, unit.name, by_unit[unit])) for unit in units]


def _outage(request, pk: int) -> Outage:
    outages = Outage.objects.visible_to(request.user).select_related("site")
    return get_object_or_404(outages.prefetch_related("units"), pk=pk)


@needs(permissions.READ)
def outage(request, pk):
    """One outage: its dates, its scope by date, the hours, and what its last move touched."""
    row, today = _outage(request, pk), clock.today()
    asks = OutageFilter(request.GET, user=request.user)
    if asks.errors and "export" in request.GET:
        return HttpResponseBadRequest("Not exported: what is asked was not understood.")
    due = DueList(today, request.user)
    scope = scope_of(row, due, asks.asked().get("until"))
    exported = export_asked(request, f"outage-{row.pk}-scope", COLUMNS, scope.as_dicts)
    if exported:
        return exported
    context = {
        "outage": row,
        "scope": scope,
        "asks": asks,
        "table": paged(request, ScopeTable(scope)),
        "is_past": row.ends_on < today or row.status in ("done", "cancelled"),
        "moved": moved(row, was, due) if (was := _was(request, row)) else None,
        "was": was,
        "exports": exports_of(request),
        "plan": _planning(row),
        "may_plan": request.user.may(permissions.PLAN_OUTAGES, row.site_id),
    }
    return render(request, "fleet/outage.html", context)


def _planning(row: Outage) -> Plan | None:
    """The plan in force, where it puts something into this outage."""
    plans = Plan.objects.in_force().filter(site=row.site_id)
    return plans.filter(jobs__outage=row).first()


def _was(request, row: Outage) -> tuple[date, date] | None:
    """The days before the move that has just been saved, from the address."""
    try:
        days = [date.fromisoformat(request.GET[name]) for name in ("began", "ended")]
    except (KeyError, ValueError):
        return None
    was = (days[0], days[1])
    return None if was == (row.starts_on, row.ends_on) else was


@needs(permissions.PLAN_OUTAGES)
def outage_new(request):
    form = OutageForm(request.POST or None, user=request.user)
    return _filled_in(request, form)


@needs(permissions.PLAN_OUTAGES)
def outage_edit(request, pk):
    row = _outage(request, pk)
    require(request.user, permissions.PLAN_OUTAGES, row.site_id)
    return _filled_in(request, OutageForm(request.POST or None, user=request.user, outage=row))


def _filled_in(request, form: OutageForm):
    was = (form.outage.starts_on, form.outage.ends_on)
    if request.method == "POST" and form.is_valid():
        row, units = form.saved()
        save_outages([(row, units)], by=request.user, at=clock.now())
        messages.success(request, f"{row} is saved.")
        if None not in was and _asks_for_another_plan(form):
            _plan_again(request, row)
        return redirect(_address(row, was))
    status = 422 if form.is_bound else 200
    return render(request, "fleet/outage_form.html", {"form": form}, status=status)


def _asks_for_another_plan(form: OutageForm) -> bool:
    """Other days, units or hours; or it promises something and did not, or the other way round."""
    changed = set(form.changed_data)
    stood = {form.initial["status"], form.cleaned_data["status"]}
    promises = "status" in changed and bool(stood & {Outage.Status.DRAFT, Outage.Status.CANCELLED})
    return promises or bool(changed & PLANNED_BY)


def _plan_again(request, row: Outage) -> None:
    """A site with a plan in force has one proposed that moves the least."""
    plan = planning.again(row.site, by=request.user, at=clock.now())
    if plan is not None:
        words = '<a href="{}">Plan {}</a> is being worked out: it moves as little as it can.'
        messages.info(request, format_html(words, reverse("plan", args=[plan.pk]), plan.pk))


def _address(row: Outage, was: tuple[date | None, date | None]) -> str:
    """The outage's page, with the days before where they have moved."""
    address = reverse("outage", args=[row.pk])
    if None in was or was == (row.starts_on, row.ends_on):
        return address
    return f"{address}?{urlencode({'began': was[0], 'ended': was[1]})}"
