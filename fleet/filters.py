"""What a list can be asked, as forms read from the address."""

from datetime import date
from typing import Any

from django import forms
from django.db.models import Count, Min, Q

from fleet import clock
from fleet.calc.activities import ACTIVITIES
from fleet.calc.units import parse_duration
from fleet.drawings.states import state_of
from fleet.forms import Day
from fleet.models import (
    Deferral,
    Device,
    Obligation,
    Outage,
    Plan,
    PlannedJob,
    PositionStatus,
    Site,
    Unit,
    User,
)
from fleet.replays import GROUP_SAMPLE
from fleet.reports import deferrals
from fleet.reports import rules as rule_library
from fleet.reports.chances import still_serving
from fleet.reports.due_ask import NO_OPPORTUNITY, STATUSES, Ask
from fleet.reports.plans import PlanAsk, takes_of, units_of
from fleet.reports.reasons import activity_words
from fleet.reports.register_ask import Asked

HORIZONS = (
    ("", "any day"),
    ("P90D", "90 days"),
    ("P180D", "180 days"),
    ("P1Y", "1 year"),
    ("P2Y", "2 years"),
    ("P5Y", "5 years"),
)
Choices = list[tuple[Any, str]]


class Filter(forms.Form):
    """A form read from the address: nothing is needed, and what is refused is said."""

    use_required_attribute = False
    rare: tuple[str, ...] = ()  # behind "More"

    def __init__(self, data, *, user: User) -> None:
        super().__init__(data, auto_id="ask_%s")
        self.user = user
        for field in self.fields.values():
            field.required = False

    def asked(self) -> dict[str, Any]:
        """What was understood; a value that was refused is left out and stands in `errors`."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value}

    def shown(self) -> list[forms.BoundField]:
        return [field for field in self.visible_fields() if field.name not in self.rare]

    def rarer(self) -> list[forms.BoundField]:
        return [field for field in self.visible_fields() if field.name in self.rare]

    def rarer_is_asked(self) -> bool:
        return any(self.data.get(name) for name in self.rare)

    def is_asked(self) -> bool:
        return any(self.data.get(name) for name in self.fields)


def find_box(placeholder: str) -> forms.CharField:
    box = forms.TextInput(attrs={"placeholder": placeholder, "type": "search"})
    return forms.CharField(max_length=80, widget=box)


class PlaceFilter(Filter):
    """A filter by site and unit: the sites and units of this reader."""

    def __init__(self, data, *, user: User) -> None:
        super().__init__(data, user=user)
        sites = list(Site.objects.visible_to(user).order_by("name").values_list("pk", "name"))
        self.fields["site"].choices = [("", "all"), *sites]
        self.fields["unit"].choices = [("", "all"), *unit_choices(user, len(sites) > 1)]
        if len(sites) < 2:
            del self.fields["site"]


class DueFilter(PlaceFilter):
    """What the due list can be asked."""

    rare = ("proposal", "group", "kind", "fluid", "as_of")

    site = forms.TypedChoiceField(coerce=int, empty_value=None)
    unit = forms.TypedChoiceField(coerce=int, empty_value=None)
    activity = forms.ChoiceField(
        label="Owes",
        choices=[("", "anything"), *((a, activity_words(a)) for a in ACTIVITIES)],
    )
    status = forms.ChoiceField(
        label="State",
        choices=[
            ("", "any"),
            *((status, state_of(status).words) for status in STATUSES),
            (NO_OPPORTUNITY, "no outage in time"),
        ],
    )
    within = forms.ChoiceField(label="Within", choices=HORIZONS)
    outage = forms.TypedChoiceField(coerce=int, empty_value=None)
    proposal = forms.ChoiceField(
        label="Proposal", choices=[("", "any or none"), ("open", "open proposal")]
    )
    group = forms.TypedChoiceField(label="Sampled in", coerce=int, empty_value=None)
    kind = forms.ChoiceField(label="Device kind", choices=[("", "any"), *Device.Kind.choices])
    fluid = forms.CharField(max_length=80)
    as_of = Day(label="As of")
    find = find_box("tag, device, serial")

    def __init__(self, data, *, user: User) -> None:
        super().__init__(data, user=user)
        self.fields["outage"].choices = [("", "any"), *outage_choices(user, clock.today())]
        groups = group_choices(user, clock.today(), "site" in self.fields)
        self.fields["group"].choices = [("", "any or no group"), *groups]
        if not groups:
            del self.fields["group"]

    def day(self) -> date:
        return self.asked().get("as_of") or clock.today()

    def ask(self) -> Ask:
        asked = self.asked()
        within = asked.pop("within", "")
        as_of = asked.pop("as_of", None) or clock.today()
        until = parse_duration(within).after(as_of) if within else None
        return Ask(**asked, until=until)


def unit_choices(user: User, with_site: bool) -> Choices:
    units = Unit.objects.visible_to(user).select_related("site").order_by("site__name", "name")
    return [(unit.pk, f"{unit.site}: {unit}" if with_site else unit.name) for unit in units]


def outage_choices(user: User, today: date) -> Choices:
    outages = Outage.objects.visible_to(user).filter(still_serving(today))
    return list(outages.order_by("starts_on", "pk").values_list("pk", "name"))


def group_choices(user: User, today: date, with_site: bool) -> Choices:
    """Groups that somebody is in, or will be, each by the first obligation ever in it."""
    owed = Obligation.objects.visible_to(user).filter(rule__kind=GROUP_SAMPLE)
    named = owed.values_list("position__site__name", "group", "activity", "rule")
    open_ended = Q(until_on=None) | Q(until_on__gt=today)
    rows = named.annotate(first=Min("pk"), open=Count("pk", filter=open_ended)).filter(open__gt=0)
    return [
        (first, f"{f'{site}: ' if with_site else ''}{group}, {activity_words(activity)}")
        for site, group, activity, _, first, _ in rows.order_by("position__site__name", "group")
    ]


class DayFilter(Filter):
    """A list that can be asked for another day, and nothing else."""

    as_of = Day(label="As of")

    def day(self) -> date:
        return self.asked().get("as_of") or clock.today()


class OutageFilter(PlaceFilter):
    """What the outages, and the scope of one, can be asked."""

    site = forms.TypedChoiceField(coerce=int, empty_value=None)
    unit = forms.TypedChoiceField(coerce=int, empty_value=None)
    until = Day(label="Counts what is due up to")


class PlanFilter(Filter):
    """What the lines of one plan can be asked."""

    status = forms.ChoiceField(label="Goes", choices=[("", "anywhere"), *PlannedJob.Status.choices])
    unit = forms.TypedChoiceField(coerce=int, empty_value=None)
    outage = forms.TypedChoiceField(coerce=int, empty_value=None)
    activity = forms.ChoiceField(
        label="Owes",
        choices=[("", "anything"), *((a, activity_words(a)) for a in ACTIVITIES)],
    )
    work = forms.ChoiceField(
        label="Work", choices=[("", "that needs the bench"), ("any", "of every kind")]
    )
    find = find_box("tag")

    def __init__(self, data, *, user: User, plan: Plan) -> None:
        super().__init__(data, user=user)
        units = [(unit.pk, unit.name) for unit in units_of(plan)]
        outages = [(take.outage.pk, take.outage.name) for take in takes_of(plan)]
        self.fields["unit"].choices = [("", "all"), *units]
        self.fields["outage"].choices = [("", "any"), *outages]

    def ask(self) -> PlanAsk:
        return PlanAsk(**self.asked())


class PositionFilter(PlaceFilter):
    """What the register of positions can be asked."""

    site = forms.TypedChoiceField(coerce=int, empty_value=None)
    unit = forms.TypedChoiceField(coerce=int, empty_value=None)
    status = forms.ChoiceField(choices=[("", "any"), *PositionStatus.choices])
    kind = forms.ChoiceField(label="Device kind", choices=[("", "any"), *Device.Kind.choices])
    fluid = forms.CharField(max_length=80)
    find = find_box("tag, equipment, device")

    def ask(self) -> Asked:
        return Asked(**self.asked())


class DeviceFilter(PlaceFilter):
    """What the register of devices can be asked."""

    site = forms.TypedChoiceField(coerce=int, empty_value=None)
    unit = forms.TypedChoiceField(coerce=int, empty_value=None)
    place = forms.ChoiceField(
        label="Where",
        choices=[("", "anywhere"), ("fitted", "fitted"), ("loose", "not fitted")],
    )
    kind = forms.ChoiceField(choices=[("", "any"), *Device.Kind.choices])
    status = forms.ChoiceField(choices=[("", "any"), *Device.Status.choices])
    find = find_box("number, serial")

    def ask(self) -> Asked:
        return Asked(**self.asked())


class RuleFilter(Filter):
    """What the rule library can be asked."""

    field = forms.ChoiceField(label="Field", choices=[("", "all"), *rule_library.FIELDS_SHORT])
    kind = forms.ChoiceField(
        label="Counts", choices=[("", "any way"), *rule_library.KIND_WORDS.items()]
    )
    activity = forms.ChoiceField(
        label="For", choices=[("", "anything"), *((a, activity_words(a)) for a in ACTIVITIES)]
    )
    checked = forms.ChoiceField(
        label="Source", choices=[("", "any"), ("yes", "checked"), ("no", "not checked")]
    )
    used = forms.ChoiceField(
        label="In use", choices=[("", "or not"), ("yes", "here"), ("no", "not here")]
    )
    find = find_box("id, words, section")

    def ask(self) -> rule_library.Asked:
        return rule_library.Asked(**self.asked())


class LeaveFilter(PlaceFilter):
    """What the list of deferrals can be asked."""

    site = forms.TypedChoiceField(coerce=int, empty_value=None)
    unit = forms.TypedChoiceField(coerce=int, empty_value=None)
    policy = forms.ChoiceField(choices=[("", "any"), *Deferral.Policy.choices])
    state = forms.ChoiceField(
        label="Stands", choices=[("", "any"), *((s, state_of(s).words) for s in deferrals.STATES)]
    )

    def ask(self) -> deferrals.Ask:
        return deferrals.Ask(**self.asked())


class AheadFilter(PlaceFilter):
    """What the workload ahead can be asked; `month` for the visits of one."""

    site = forms.TypedChoiceField(coerce=int, empty_value=None)
    unit = forms.TypedChoiceField(coerce=int, empty_value=None)
    years = forms.TypedChoiceField(
        label="Years ahead",
        coerce=int,
        empty_value=None,
        choices=[("", "5"), *((n, str(n)) for n in range(6, 11))],
    )
