"""What a site's shop can take in a week without an outage, as a form of one field."""

from decimal import Decimal

from django import forms

from fleet.models import Site


class BenchHoursForm(forms.Form):
    """`hours()` is what was filled in, None for empty: nobody says, which is not nought."""

    weekly_bench_hours = forms.DecimalField(
        label="Bench hours in an ordinary week",
        required=False,
        min_value=0,
        max_digits=8,
        decimal_places=2,
        help_text="What the shop can take while no outage is on. Empty if nobody has said.",
    )

    def __init__(self, data, *, site: Site) -> None:
        chosen = {"weekly_bench_hours": site.weekly_bench_hours}
        super().__init__(data, initial=chosen, auto_id=f"id_{site.pk}_%s")
        self.site = site

    def clean(self) -> dict:
        """A field that was not sent at all is no word on anything."""
        if "weekly_bench_hours" not in self.data:
            self.add_error("weekly_bench_hours", "Expected a number of hours, or an empty field.")
        return super().clean()

    def hours(self) -> Decimal | None:
        return self.cleaned_data["weekly_bench_hours"]
