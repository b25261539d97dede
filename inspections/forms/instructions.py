"""An instruction for one setting of a device, and its end."""

from collections.abc import Iterable, Sequence
from datetime import date

from django import forms

from fleet.faults import Fault
from fleet.forms import Day
from fleet.models import Device
from inspections.actions.targets import Target
from inspections.forms.inputs import QuantityInput
from inspections.forms.points import show
from inspections.models import Instruction
from inspections.models.readings import MEASURES


class InstructionForm(forms.Form):
    use_required_attribute = False

    setting = forms.ChoiceField()
    value = QuantityInput(
        dimensions=MEASURES,
        label="To be set to",
        help_text="With its unit: 7 notches, 1 3/8 in.",
        required=True,
    )
    datum = forms.CharField(
        max_length=120,
        label="Counted from",
        help_text="The same count from another datum is another position.",
    )
    from_on = Day(label="From", help_text="Jobs of that day and later are held to it.")
    source = forms.CharField(
        max_length=200, label="Document", help_text="Maker's manual and section, or a letter."
    )
    reason = forms.CharField(label="Why", widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(
        self, data=None, *, targets: Sequence[Target], today: date, setting: str = ""
    ) -> None:
        chosen = next((target for target in targets if target.setting == setting), None)
        initial = {"from_on": today, "setting": setting, "datum": chosen.datum if chosen else ""}
        super().__init__(data, initial=initial)
        choices = [(each.setting, each.words) for each in ([chosen] if chosen else targets)]
        self.fields["setting"].choices = choices if chosen else [("", "choose"), *choices]

    def instruction(self, device: Device) -> Instruction:
        return Instruction(device=device, **self.cleaned_data)

    def refuse(self, faults: Iterable[Fault]) -> None:
        show(self, faults)


class EndForm(forms.Form):
    use_required_attribute = False

    until_on = Day(
        label="Holds no more from", help_text="From that day the last as-left is the target again."
    )

    def __init__(self, data=None, *, today: date) -> None:
        super().__init__(data, initial={"until_on": today})

    def refuse(self, faults: Iterable[Fault]) -> None:
        show(self, faults)
