"""What the settings review and the compliance list can be asked, as forms read from the address."""

from collections.abc import Mapping
from datetime import date

from django import forms

from fleet import clock
from fleet.calc.activities import ACTIVITIES
from fleet.drawings.states import state_of
from fleet.filters import Filter, unit_choices
from fleet.forms import Day
from fleet.models import DeviceModel, Site, User
from fleet.reports.due_ask import STATUSES, Ask
from fleet.reports.reasons import activity_words
from inspections.reports.populations import GROUPINGS, PopulationAsk
from inspections.reports.proposals import ProposalsAsk
from inspections.reports.settings import WEIGHTS
from inspections.reports.settings_ask import NOTHING_FLAGGED, SettingsAsk
from inspections.reports.settings_kept import services_of


def search_box(words: str) -> forms.CharField:
    attrs = {"placeholder": words, "type": "search"}
    return forms.CharField(label="Find", max_length=80, widget=forms.TextInput(attrs=attrs))


class PlaceFilter(Filter):
    """Site (where there is more than one), unit and the day a list is seen from."""

    site = forms.TypedChoiceField(coerce=int, empty_value=None)
    unit = forms.TypedChoiceField(coerce=int, empty_value=None)

    def __init__(self, data, *, user: User) -> None:
        super().__init__(data, user=user)
        sites = list(Site.objects.visible_to(user).order_by("name").values_list("pk", "name"))
        self.has_sites = len(sites) > 1
        self.fields["site"].choices = [("", "all"), *sites]
        if not self.has_sites:
            del self.fields["site"]
        self.fields["unit"].choices = [("", "all"), *unit_choices(user, self.has_sites)]

    def day(self) -> date:
        return self.asked().get("as_of") or clock.today()


def not_to_come(day: date | None) -> date | None:
    """Nobody can say what will have been true."""
    if day and day > clock.today():
        raise forms.ValidationError("A day that is not in the future was expected.")
    return day


def _typed(data: Mapping[str, str]) -> dict[str, str]:
    """What an address says; an emptied box says nothing."""
    return {name: data[name] for name in data if data[name]}


class ComplianceFilter(PlaceFilter):
    """What the compliance list can be asked. The two days stand first: they are the question."""

    rare = ("as_known_on",)
    field_order = ("as_of", "as_known_on", "site", "unit", "activity", "status", "find")

    as_of = Day(label="As of")
    as_known_on = Day(label="As known on the evening of")
    activity = forms.ChoiceField(
        label="Owes",
        choices=[("", "anything"), *((a, activity_words(a)) for a in ACTIVITIES)],
    )
    status = forms.ChoiceField(
        label="State",
        choices=[("", "any"), *((status, state_of(status).words) for status in STATUSES)],
    )
    find = search_box("tag, device, serial")

    def __init__(self, data, *, user: User) -> None:
        """The day is always shown, today where nobody asks for another."""
        super().__init__({"as_of": clock.today().isoformat(), **_typed(data)}, user=user)

    def is_asked(self) -> bool:
        is_today = self.data.get("as_of") == clock.today().isoformat()
        return any(self.data.get(n) for n in self.fields if n != "as_of" or not is_today)

    def clean_as_of(self) -> date | None:
        return not_to_come(self.cleaned_data["as_of"])

    def clean_as_known_on(self) -> date | None:
        return not_to_come(self.cleaned_data["as_known_on"])

    def known_on(self) -> date | None:
        return self.asked().get("as_known_on")

    def ask(self) -> Ask:
        asked = self.asked()
        return Ask(**{name: value for name, value in asked.items() if not name.startswith("as_")})


class ProposalFilter(PlaceFilter):
    """Which proposals are shown: those that wait, unless answered ones are asked for."""

    answered = forms.ChoiceField(label="Shows", choices=[("", "open"), ("yes", "answered")])

    def ask(self) -> ProposalsAsk:
        return ProposalsAsk(**self.asked())


class FleetFilter(PlaceFilter):
    """A model and a fluid besides, and a past day the fleet is seen from."""

    model = forms.TypedChoiceField(coerce=int, empty_value=None)
    service = forms.ChoiceField(label="In")
    as_of = Day(label="As of")

    def __init__(self, data, *, user: User) -> None:
        super().__init__(data, user=user)
        fluids = ((fluid, fluid) for fluid in services_of(user))
        self.fields["service"].choices = [("", "any fluid"), *fluids]
        models = DeviceModel.objects.order_by("maker", "name")
        self.fields["model"].choices = [("", "all"), *((m.pk, str(m)) for m in models)]

    def clean_as_of(self) -> date | None:
        return not_to_come(self.cleaned_data["as_of"])

    def of_the_list(self) -> dict:
        """What is asked but for the day."""
        asked = self.asked()
        asked.pop("as_of", None)
        return asked


class PopulationFilter(FleetFilter):
    """What the fleet's first pops are grouped by, and which of them are meant."""

    rare = ("service", "as_of")
    field_order = ("by", "site", "unit", "model", "service", "as_of")

    by = forms.ChoiceField(label="By", choices=list(GROUPINGS.items()))

    def ask(self) -> PopulationAsk:
        return PopulationAsk(**self.of_the_list())


class SettingsFilter(FleetFilter):
    """What the settings review can be asked."""

    rare = ("service", "acknowledged", "as_of")

    field_order = ("site", "unit", "model", "flag", "service", "acknowledged", "as_of", "find")

    flag = forms.ChoiceField(
        label="Shows",
        choices=[
            ("", "anything"),
            ("any", "any flag"),
            *((code, state_of(code).words) for code in WEIGHTS),
            (NOTHING_FLAGGED, "nothing"),
        ],
    )
    acknowledged = forms.ChoiceField(
        choices=[("", "or not"), ("no", "not yet"), ("yes", "acknowledged")]
    )
    find = search_box("tag, device, serial")

    def ask(self) -> SettingsAsk:
        return SettingsAsk(**self.of_the_list())
