"""Workload ahead: hours a month over years, beside what the bench has to offer."""

import re
from decimal import Decimal

from django.contrib import messages
from django.http import Http404, HttpResponseBadRequest
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from fleet import clock, permissions
from fleet.actions.outages import offer_weekly
from fleet.calc.loads import first_day_of
from fleet.filters import AheadFilter
from fleet.forms.bench_hours import BenchHoursForm
from fleet.listing import export_asked, paged
from fleet.models import Site, Unit
from fleet.reports.workload import COLUMNS, YEARS, Workload
from fleet.reports.workload_month import COLUMNS as MONTH_COLUMNS
from fleet.reports.workload_month import month_rows
from fleet.reports.workload_words import left_out_words, month_words
from fleet.tables.workload import VisitTable
from fleet.views.ahead_drawn import drawn
from fleet.views.due import exports_of
from fleet.views.guard import needs, require

NOT_UNDERSTOOD = "Not exported: what is asked was not understood."


@needs(permissions.READ)
def ahead(request):
    """Every site's months, drawn and in figures."""
    asks = AheadFilter(request.GET, user=request.user)
    work = _asked(request, asks)
    if asks.errors and "export" in request.GET:
        return HttpResponseBadRequest(NOT_UNDERSTOOD)
    exported = export_asked(request, f"workload-{work.as_of}", COLUMNS, work.as_dicts)
    return exported or _page(request, asks, work)


def _asked(request, asks: AheadFilter) -> Workload:
    """A unit is shown beside its whole site: the bench is one."""
    asked = asks.asked()
    unit, site = asked.get("unit"), asked.get("site")
    if unit:
        site = Unit.objects.values_list("site", flat=True).get(pk=unit)
    return Workload(clock.today(), asked.get("years") or YEARS[0], request.user, site, unit)


def _page(request, asks: AheadFilter, work: Workload, wrong: BenchHoursForm | None = None):
    """wrong: the form of a site's hours that was sent and could not be read."""
    sites = [drawn(work, site) for site in work.sites]
    may = request.user.may
    forms = {
        site.ahead.site.pk: BenchHoursForm(None, site=site.ahead.site)
        for site in sites
        if may(permissions.PLAN_OUTAGES, site.ahead.site.pk)
    }
    if wrong:
        forms[wrong.site.pk] = wrong
    context = {
        "asks": asks,
        "exports": exports_of(request),
        "work": work,
        "sites": [(site, forms.get(site.ahead.site.pk)) for site in sites],
        "left_out": left_out_words(work.known),
    }
    return render(request, "fleet/ahead.html", context, status=422 if wrong else 200)


@needs(permissions.READ)
def month(request):
    """The visits that one month consists of."""
    asks = AheadFilter(request.GET, user=request.user)
    work = _asked(request, asks)
    number = _month(request, work)
    rows = month_rows(work, number)
    day = first_day_of(number)
    exported = export_asked(
        request, f"workload-{day:%Y-%m}", MONTH_COLUMNS, lambda: (row.as_dict() for row in rows)
    )
    if exported:
        return exported
    place = Unit.objects.filter(pk=work.unit) if work.unit else Site.objects.filter(pk=work.site)
    context = {
        "table": paged(request, VisitTable(rows)),
        "named": month_words(day),
        "place": place.first(),
        "exports": exports_of(request),
        "hours": sum((row.in_month for row in rows), Decimal()),
    }
    return render(request, "fleet/ahead_month.html", context)


def _month(request, work: Workload) -> int:
    """The month of the address, `2029-05`; without one, this month. 404 outside the span."""
    asked = request.GET.get("month")
    if asked is None:
        return work.months.start
    found = re.fullmatch(r"([0-9]{4})-(0[1-9]|1[0-2])", asked)
    number = int(found[1]) * 12 + int(found[2]) - 1 if found else -1
    if number not in work.months:
        raise Http404
    return number


@needs(permissions.PLAN_OUTAGES)
@require_POST
def site_bench_hours(request, pk):
    """What a site's shop takes in an ordinary week, said or taken back."""
    site = get_object_or_404(Site.objects.visible_to(request.user), pk=pk)
    require(request.user, permissions.PLAN_OUTAGES, site.pk)
    form = BenchHoursForm(request.POST, site=site)
    if not form.is_valid():
        asks = AheadFilter({}, user=request.user)
        return _page(request, asks, _asked(request, asks), form)
    stored = offer_weekly(site, form.hours(), by=request.user, at=clock.now())
    hours = stored.weekly_bench_hours
    said = "nobody says" if hours is None else f"{hours.normalize():f} h"
    messages.success(request, f"{site}, an ordinary week at the bench: {said}.")
    return redirect("workload_ahead")
