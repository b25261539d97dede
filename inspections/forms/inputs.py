"""What the bench's forms are made of: a quantity field, and a step that knows what is stored."""

from collections.abc import Sequence

from django import forms
from django.http import QueryDict

from fleet.calc.units import UnitsError, parse_quantity
from inspections.actions.records import Record
from inspections.actions.step import Step
from inspections.actions.targets import Target


class QuantityInput(forms.CharField):
    """A number with its unit, read by the strict parser; cleans to a Quantity or None.

    header_unit: the unit a bare number is taken in, shown beside the field.
    """

    def __init__(self, *, dimensions: tuple[str, ...], header_unit: str | None = None, **kwargs):
        self.dimensions, self.header_unit = dimensions, header_unit
        kwargs.setdefault("required", False)
        kwargs.setdefault("max_length", 60)
        super().__init__(**kwargs)
        self.widget.attrs.update({"autocomplete": "off", "spellcheck": "false"})

    def clean(self, value):
        typed = super().clean(value)
        if not typed:
            return None
        try:
            return parse_quantity(typed, self.dimensions, header_unit=self.header_unit)
        except UnitsError as error:
            raise forms.ValidationError(f"“{error.typed}”: expected {error.expected}") from error


class DayInput(forms.DateField):
    """A day as browsers take it; empty where it is not known yet."""

    def __init__(self, **kwargs):
        kwargs.setdefault("required", False)
        widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        super().__init__(widget=widget, **kwargs)


class StepForm(forms.Form):
    """One step of the walk. `version` is the record as it was when the page was opened."""

    step = ""
    title = ""

    def __init__(self, *args, record: Record, targets: Sequence[Target] = (), **kwargs):
        self.record, self.targets = record, list(targets)
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.show_hidden_initial = True
        for name, value in self.stored().items():
            self.initial.setdefault(name, value)

    def stored(self) -> dict[str, object]:
        """{field: what the record holds now}, as the field would show it."""
        return {
            name: getattr(self.record.inspection, name)
            for name in self.fields
            if hasattr(self.record.inspection, name)
        }

    def words_for(self, name: str) -> str:
        """What a field is called where it stands alone, away from its neighbours."""
        return str(self.fields[name].label)

    def rebased(self, typed: QueryDict) -> QueryDict:
        """What was typed, moved clear of what others have added since the page was opened."""
        return typed

    def to_step(self) -> Step:
        return Step(self.step, values=dict(self.cleaned_data))
