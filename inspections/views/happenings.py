"""What happens at a position beside the work, told on its page: triggers, counters, out of
service and back; and what its dates are then."""

from collections.abc import Callable

from django.shortcuts import get_object_or_404, redirect, render

from fleet import clock, permissions
from fleet.actions import happenings
from fleet.drawings.axis import day_words
from fleet.faults import Refused
from fleet.models import OutOfService, Position
from fleet.views.guard import needs, require
from inspections.forms.happenings import (
    CounterForm,
    HappeningForm,
    LayUpForm,
    ReturnForm,
    TriggerForm,
)
from inspections.views.fitting import say_done

Write = Callable[[HappeningForm], str]


@needs(permissions.RECORD_HAPPENING)
def position_trigger(request, pk):
    """Tell of something that calls for work."""
    place = _place(request.user, pk)
    form = TriggerForm(request.POST or None, position=place, today=clock.today())

    def write(form):
        told = form.saved()
        happenings.tell([told], by=request.user, at=clock.now())
        what = told.get_kind_display().capitalize()
        return f"{what} on {day_words(told.happened_on)} is recorded."

    return _filled_in(request, place, form, "Something happened", "Record it", write)


@needs(permissions.RECORD_HAPPENING)
def position_counter(request, pk):
    """Write down what a counter stands at."""
    place = _place(request.user, pk)
    last = place.readings.order_by("read_on").last()
    form = CounterForm(
        request.POST or None,
        position=place,
        today=clock.today(),
        counter=last.counter if last else "",
    )

    def write(form):
        reading = form.saved()
        happenings.read([reading], by=request.user, at=clock.now())
        return f"{reading.counter} stood at {reading.value} on {day_words(reading.read_on)}."

    return _filled_in(request, place, form, "Read a counter", "Record the reading", write)


@needs(permissions.RECORD_HAPPENING)
def position_idle(request, pk):
    """Take a position out of service; where it is out already, bring it back."""
    place = _place(request.user, pk)
    span = place.idle_spans.filter(to_on=None).first()
    return _bring_back(request, place, span) if span else _lay_up(request, place)


def _lay_up(request, place: Position):
    form = LayUpForm(request.POST or None, position=place, today=clock.today())

    def write(form):
        span = form.saved()
        span.told_by = request.user
        happenings.lay_up([span], by=request.user, at=clock.now())
        return f"Out of service since {day_words(span.from_on)}."

    return _filled_in(request, place, form, "Out of service", "Take it out of service", write)


def _bring_back(request, place: Position, span: OutOfService):
    form = ReturnForm(request.POST or None, position=place, today=clock.today())

    def write(form):
        to_on = form.cleaned_data["to_on"]
        happenings.bring_back([(span, to_on)], by=request.user, at=clock.now())
        return f"Back in service since {day_words(to_on)}."

    since = f"It is out of service since {day_words(span.from_on)}."
    return _filled_in(request, place, form, "Back in service", "Bring it back", write, since)


def _place(user, pk) -> Position:
    rows = Position.objects.visible_to(user).select_related("site", "unit")
    place = get_object_or_404(rows, pk=pk)
    require(user, permissions.RECORD_HAPPENING, place.site_id)
    return place


def _filled_in(
    request, place: Position, form: HappeningForm, title: str, button: str, write: Write,
    before: str = "",
):  # fmt: skip
    if request.method == "POST" and form.is_valid():
        try:
            done = write(form)
        except Refused as refused:
            form.refuse(refused.faults)
        else:
            say_done(request, place, done)
            return redirect("position", place.pk)
    context = {
        "form": form, "position": place, "title": title, "button": button, "before": before,
    }  # fmt: skip
    status = 422 if form.is_bound else 200
    return render(request, "inspections/happening.html", context, status=status)
