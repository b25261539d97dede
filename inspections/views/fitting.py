"""Fitting a device to a position, taking it out, swapping it; and what its dates are then."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render

from fleet import clock, permissions
from fleet.actions import installations
from fleet.actions.fitting import move, standing_at, unchecked
from fleet.drawings.axis import day_words
from fleet.faults import Refused
from fleet.models import Installation, Position
from fleet.reports.due import DueList, DueRow
from fleet.reports.reasons import activity_words
from fleet.tables.due import status_words
from fleet.views.guard import needs, require
from inspections.forms.fitting import FitForm, TakeOutForm, VoidForm
from inspections.reports.position import owed_rows

WRONG = ("overdue", "overdue_deferred", "no_record", "interval_not_set")


@needs(permissions.FIT_DEVICE)
def device_fit(request, pk):
    """Fit a device; where one stands, it comes out the same day."""
    return _filled_in(request, _place(request.user, pk), FitForm)


@needs(permissions.FIT_DEVICE)
def device_take_out(request, pk):
    """Take out what stands."""
    place = _place(request.user, pk)
    if standing_at(place) is None:
        messages.info(request, f"Nothing is fitted at {place}.")
        return redirect("position", place.pk)
    return _filled_in(request, place, TakeOutForm)


@needs(permissions.FIT_DEVICE)
def installation_void(request, pk):
    """Take back a fitting that was written down by mistake."""
    rows = Installation.everything.visible_to(request.user)
    spell = get_object_or_404(rows.select_related("position__unit", "device", "voided_by"), pk=pk)
    place = spell.position
    require(request.user, permissions.FIT_DEVICE, place.site_id)
    form = VoidForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            reason = form.cleaned_data["reason"]
            installations.void(spell, reason=reason, by=request.user, at=clock.now())
        except Refused as refused:
            form.refuse(refused.faults)
        else:
            on = day_words(spell.installed_on)
            say_done(request, place, f"The fitting of {spell.device} on {on} was taken back.")
            return redirect("position", place.pk)
    context = {"form": form, "spell": spell, "position": place, "before": _swapped_out(spell)}
    status = 422 if form.is_bound else 200
    return render(request, "inspections/fitting_void.html", context, status=status)


def _swapped_out(spell: Installation) -> Installation | None:
    """What came out here the day this went in; taking this back does not put it in again."""
    left = Installation.objects.filter(position=spell.position_id, removed_on=spell.installed_on)
    return left.select_related("device").first()


def _place(user, pk) -> Position:
    rows = Position.objects.visible_to(user).select_related("site", "unit")
    place = get_object_or_404(rows, pk=pk)
    require(user, permissions.FIT_DEVICE, place.site_id)
    return place


def _filled_in(request, place: Position, kind: type[TakeOutForm]):
    form = _form(request, place, kind)
    if request.method == "POST" and form.is_valid():
        wanted = form.move()
        gaps = unchecked(place, wanted.device, wanted.on) if wanted.device else []
        try:
            fitted = move(wanted, by=request.user, at=clock.now())
        except Refused as refused:
            form = _form(request, place, kind)  # on what stands now
            form.is_valid()
            form.refuse(refused.faults)
        else:
            _say(request, place, fitted, form, gaps)
            return redirect("position", place.pk)
    context = {"form": form, "position": place, "standing": form.now_standing}
    status = 422 if form.is_bound else 200
    return render(request, "inspections/fitting.html", context, status=status)


def _form(request, place: Position, kind: type[TakeOutForm]) -> TakeOutForm:
    return kind(
        request.POST or None,
        position=place,
        standing=standing_at(place),
        user=request.user,
        today=clock.today(),
    )


def _say(request, place: Position, fitted: Installation | None, form, gaps: list[str]) -> None:
    """What was done, what the position's dates are now, and what nobody could compare."""
    on, left = day_words(form.cleaned_data["on"]), form.now_standing
    done = [f"{left.device} was taken out on {on}."] if left else []
    if fitted:
        done.append(f"{fitted.device} is fitted since {on}.")
    say_done(request, place, " ".join(done))
    if fitted and form.cleaned_data["override_reason"] and not fitted.override_reason:
        messages.info(request, "The device matches: the reason was not needed and is not kept.")
    if gaps:
        words = ", ".join(gaps)
        messages.warning(request, f"Not checked, as the device's particulars do not say: {words}.")


def say_done(request, place: Position, done: str) -> None:
    rows = owed_rows(place, DueList(clock.today(), request.user))
    messages.success(request, done)
    say = messages.warning if any(row.status in WRONG for row in rows) else messages.info
    say(request, " ".join(["Now:", *(_dates(row) for row in rows)]))


def _dates(row: DueRow) -> str:
    """`Bench test due 7 Dec 2026: due in 37 days.` `Bench test: no record.`"""
    what = activity_words(row.activity).capitalize() if row.activity else "Owes"
    day = f" due {day_words(row.due_on)}" if row.due_on else ""
    return f"{what}{day}: {status_words(row)}."
