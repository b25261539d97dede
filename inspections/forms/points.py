"""One setting of a model, as an engineer sets it up."""

from collections.abc import Iterable

from django import forms

from fleet.calc.units import LENGTH
from fleet.faults import Fault
from inspections.calc.naming import KNOWN, slug_of, words_of
from inspections.forms.inputs import QuantityInput
from inspections.models import SettingPoint
from inspections.models.readings import MEASURES

NAMES = [words_of(setting) for setting in KNOWN]


class PointForm(forms.Form):
    use_required_attribute = False

    setting = forms.CharField(
        max_length=40,
        help_text="A one-ring valve has a single ring, a two-ring valve a lower and an upper one.",
        widget=forms.TextInput(attrs={"list": "settings", "autocomplete": "off"}),
    )
    measure = forms.ChoiceField(label="Counted in", choices=SettingPoint.Measure)
    datum = forms.CharField(
        max_length=120,
        label="Counted from",
        help_text="A stop that can be found again: ring touching a flat laid on the seat.",
    )
    positive = forms.ChoiceField(label="Grows when it goes", choices=SettingPoint.Positive)
    resolution = QuantityInput(
        dimensions=MEASURES,
        label="Smallest step that can be told",
        help_text="With its unit. Empty: 1 notch, 1/64 in, 1/8 turn, as is common practice.",
    )
    required = forms.BooleanField(
        required=False, label="No overhaul goes back without it as found and as left"
    )
    synonyms = forms.CharField(
        required=False,
        max_length=200,
        label="Other names on this model",
        help_text="With ; between them: warn ring; nozzle ring. A bare name is never guessed.",
    )
    notches_per_turn = forms.IntegerField(
        required=False, min_value=1, max_value=1000, label="Notches in one turn"
    )
    lead = QuantityInput(
        dimensions=(LENGTH,),
        label="Advance of its thread in one turn",
        help_text="1/16 in for a single thread of 16 to the inch.",
    )
    limit_low = QuantityInput(dimensions=MEASURES, label="Not under")
    limit_high = QuantityInput(dimensions=MEASURES, label="Not over")
    source = forms.CharField(
        required=False, max_length=200, help_text="Who says so: maker's manual and its issue."
    )

    COUNTED = ("setting", "measure", "datum", "positive", "resolution", "required", "synonyms")
    THREAD = ("notches_per_turn", "lead")
    LIMITS = ("limit_low", "limit_high", "source")

    def __init__(self, data=None, *, point: SettingPoint) -> None:
        initial = {name: getattr(point, name) for name in self.base_fields}
        initial["setting"] = words_of(point.setting)
        super().__init__(data, initial=initial)
        self.point = point
        if point.pk:
            self.fields["setting"].disabled = True

    def groups(self):
        """The boxes under their headings."""
        yield "How it is counted", [self[n] for n in self.COUNTED if not self.fields[n].disabled]
        yield "Its thread", [self[name] for name in self.THREAD]
        yield "Its limits", [self[name] for name in self.LIMITS]

    def saved(self) -> SettingPoint:
        """The point with what was typed laid onto it, unsaved."""
        for name, value in self.cleaned_data.items():
            setattr(self.point, name, value)
        self.point.setting = slug_of(self.cleaned_data["setting"])
        return self.point

    def refuse(self, faults: Iterable[Fault]) -> None:
        show(self, faults)


def show(form: forms.Form, faults: Iterable[Fault]) -> None:
    """Each fault beside its field."""
    for fault in faults:
        words = f"“{fault.typed}”: expected {fault.expected}" if fault.typed else fault.expected
        form.add_error(fault.field if fault.field in form.fields else None, words)
