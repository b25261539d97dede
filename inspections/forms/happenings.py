"""What is filled in when something happened at a position, a counter was read, or it went out of
service or came back. Text is read as the workbook reads it, in which it goes out again."""

from collections.abc import Sequence

from django import forms

from fleet import clock
from fleet.exchange import cells
from fleet.faults import Fault
from fleet.forms import Day
from fleet.models import CounterReading, OutOfService, Position, Trigger
from inspections.forms.fitting import sentence


class HappeningForm(forms.Form):
    """One thing that happened; `saved` gives it unsaved."""

    use_required_attribute = False

    def __init__(self, data=None, *, position: Position, today) -> None:
        super().__init__(data, initial=dict.fromkeys(self.DAYS, today))
        self.position = position

    DAYS: Sequence[str] = ()

    def refuse(self, faults: Sequence[Fault]) -> None:
        for fault in faults:
            self.add_error(fault.field if fault.field in self.fields else None, sentence(fault))

    def read(self, name: str, kind: cells.Kind):
        """What was typed, as a cell would be read; None for nothing."""
        typed = " ".join(str(self.cleaned_data[name]).split())
        try:
            return kind.read(typed, cells.Reading(clock.today())) if typed else None
        except cells.CellError as error:
            raise forms.ValidationError(f"“{error.typed}”: expected {error.expected}.") from error


def words_box(label: str, help_text: str) -> forms.CharField:
    box = forms.Textarea(attrs={"rows": 3})
    return forms.CharField(label=label, required=False, widget=box, help_text=help_text)


class TriggerForm(HappeningForm):
    """Something that calls for work within days."""

    DAYS = ("happened_on",)

    kind = forms.ChoiceField(label="What happened", choices=[("", ""), *Trigger.Kind.choices])
    happened_on = Day(label="Day it happened")
    note = words_box("Note", "What there is to say of it. Kept under your name.")

    def clean_note(self) -> str:
        return self.read("note", cells.text()) or ""

    def saved(self) -> Trigger:
        return Trigger(position=self.position, **self.cleaned_data)


class CounterForm(HappeningForm):
    """What a counter of use stands at."""

    DAYS = ("read_on",)

    counter = forms.CharField(
        max_length=40,
        help_text="As the rule names it, such as service_days. A new counter takes a new name.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    read_on = Day(label="Day it was read")
    value = forms.CharField(
        label="It stands at", max_length=20, widget=forms.TextInput(attrs={"inputmode": "decimal"})
    )

    def __init__(self, data=None, *, counter: str = "", **about) -> None:
        super().__init__(data, **about)
        self.initial["counter"] = counter

    def clean_counter(self) -> str:
        return self.read("counter", cells.telling(40))

    def clean_value(self):
        return self.read("value", cells.decimal(4, 10))

    def saved(self) -> CounterReading:
        return CounterReading(position=self.position, **self.cleaned_data)


class LayUpForm(HappeningForm):
    """A position goes out of service."""

    DAYS = ("from_on",)

    from_on = Day(label="First day out of service")
    how = words_box("How it is isolated or laid up", "Kept under your name.")

    def clean_how(self) -> str:
        return self.read("how", cells.text()) or ""

    def saved(self) -> OutOfService:
        return OutOfService(position=self.position, **self.cleaned_data)


class ReturnForm(HappeningForm):
    """It comes back into service."""

    DAYS = ("to_on",)

    to_on = Day(label="First day back in service")
