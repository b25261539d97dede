"""The two numbers by which a site's settings review calls a reset repeated."""

from collections.abc import Iterable

from django import forms

from fleet.faults import Fault
from fleet.models import Site


class ReviewForm(forms.Form):
    overhauls = forms.IntegerField(label="Overhauls looked at", min_value=1)
    resets = forms.IntegerField(label="Resets among them that are flagged", min_value=1)

    def __init__(self, data, *, site: Site) -> None:
        initial = {"overhauls": site.review_overhauls, "resets": site.review_resets}
        super().__init__(data, initial=initial, auto_id=f"id_{site.pk}_%s")
        self.site = site

    def show(self, faults: Iterable[Fault]) -> None:
        for fault in faults:
            self.add_error(fault.field, f"“{fault.typed}”: expected {fault.expected}")
