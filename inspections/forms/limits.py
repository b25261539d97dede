"""One limit of a model's part, as an engineer writes it down."""

from collections.abc import Iterable

from django import forms

from fleet.faults import Fault
from inspections.models import PartLimit


class PartLimitForm(forms.Form):
    use_required_attribute = False

    part = forms.CharField(
        max_length=80,
        help_text="Spring, nozzle seat, spindle.",
        widget=forms.TextInput(attrs={"list": "parts", "autocomplete": "off"}),
    )
    measure = forms.CharField(
        max_length=80,
        help_text="What is measured: free height, run-out, width.",
        widget=forms.TextInput(attrs={"list": "measures", "autocomplete": "off"}),
    )
    low = forms.CharField(
        required=False, max_length=60, label="Not under", help_text="With its unit: 118.5 mm."
    )
    high = forms.CharField(
        required=False, max_length=60, label="Not over", help_text="With its unit; or leave empty."
    )
    source = forms.CharField(
        max_length=200,
        help_text="Who says so, and where: maker's drawing and its issue, the site's procedure.",
    )

    def limit(self, onto: PartLimit) -> PartLimit:
        """The limit with what was typed laid onto it."""
        for name, typed in self.cleaned_data.items():
            setattr(onto, name, typed)
        return onto

    def show(self, faults: Iterable[Fault]) -> None:
        for fault in faults:
            words = f"“{fault.typed}”: expected {fault.expected}" if fault.typed else fault.expected
            self.add_error(fault.field if fault.field in self.fields else None, words)
