"""An outage, as a form."""

from django import forms

from fleet import permissions
from fleet.forms.days import Day
from fleet.models import Outage, Site, Unit, User
from fleet.reports.outages import overlapping


def hours(help_text: str) -> forms.DecimalField:
    return forms.DecimalField(
        required=False, min_value=0, max_digits=8, decimal_places=2, help_text=help_text
    )


class OutageForm(forms.Form):
    """An outage, new or changed. `saved()` gives it unsaved, with its units."""

    use_required_attribute = False

    site = forms.TypedChoiceField(coerce=int)
    name = forms.CharField(max_length=120)
    starts_on = Day(label="Begins on", help_text="Work due on this day or later is in time.")
    ends_on = Day(label="Ends on", help_text="Its last day.")
    freeze_on = Day(
        label="Scope frozen from",
        required=False,
        help_text="Empty if no day is set.",
    )
    bench_hours = hours("The total the shop can give it. Empty if not known.")
    weekly_hours = hours("The most in any one week. Empty if not known.")
    status = forms.ChoiceField(
        choices=Outage.Status.choices, help_text="A draft or a cancelled outage serves nothing."
    )
    units = forms.ModelMultipleChoiceField(
        queryset=Unit.objects.none(), widget=forms.CheckboxSelectMultiple, label="Units shut down"
    )

    def __init__(self, data=None, *, user: User, outage: Outage | None = None) -> None:
        super().__init__(data, initial=_initial(outage))
        self.outage = outage or Outage()
        sites = Site.objects.visible_to(user).order_by("name")
        mine = [site for site in sites if user.may(permissions.PLAN_OUTAGES, site.pk)]
        self.fields["site"].choices = [(site.pk, site.name) for site in mine]
        units = Unit.objects.filter(site__in=mine).select_related("site")
        self.fields["units"].queryset = units.order_by("site__name", "name")
        if outage:
            self.fields["site"].disabled = True
        if len(mine) > 1:
            self.fields["units"].label_from_instance = lambda unit: f"{unit.site}: {unit}"

    def clean(self) -> dict:
        cleaned = super().clean()
        starts_on, ends_on = cleaned.get("starts_on"), cleaned.get("ends_on")
        if starts_on and ends_on and ends_on < starts_on:
            self.add_error("ends_on", f"It ends before it begins ({starts_on}).")
        freeze_on = cleaned.get("freeze_on")
        if starts_on and freeze_on and freeze_on > starts_on:
            self.add_error("freeze_on", f"The scope is frozen before it begins ({starts_on}).")
        strangers = [u for u in cleaned.get("units", []) if u.site_id != cleaned.get("site")]
        if strangers:
            names = ", ".join(unit.name for unit in strangers)
            self.add_error("units", f"Not of this site: {names}.")
        self._clean_name(cleaned)
        self._clean_overlap(cleaned)
        return cleaned

    def _clean_overlap(self, cleaned: dict) -> None:
        """A unit stands still in one outage at a time; a cancelled one is none."""
        days = (cleaned.get("starts_on"), cleaned.get("ends_on"))
        if None in days or cleaned.get("status") == Outage.Status.CANCELLED:
            return
        for unit, other in overlapping(self.outage.pk, cleaned.get("units") or (), *days):
            words = f"{unit} is down then already: {other}, {other.starts_on} to {other.ends_on}."
            self.add_error("units", words)

    def _clean_name(self, cleaned: dict) -> None:
        named = Outage.objects.filter(site=cleaned.get("site"), name=cleaned.get("name"))
        if named.exclude(pk=self.outage.pk).exists():
            self.add_error("name", "The site has an outage of this name.")

    def saved(self) -> tuple[Outage, list[Unit]]:
        """What was filled in, on the outage (not written yet), and its units."""
        values = dict(self.cleaned_data)
        units = list(values.pop("units"))
        self.outage.site_id = values.pop("site")
        for name, value in values.items():
            setattr(self.outage, name, value)
        return self.outage, units


def _initial(outage: Outage | None) -> dict:
    if outage is None:
        return {"status": Outage.Status.PLANNED}
    names = ("name", "starts_on", "ends_on", "freeze_on", "bench_hours", "weekly_hours", "status")
    return {
        "site": outage.site_id,
        "units": [unit.pk for unit in outage.units.all()],
        **{name: getattr(outage, name) for name in names},
    }
