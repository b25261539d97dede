"""What is filled in when a device is fitted to a position, taken out, or swapped for another."""

from collections.abc import Sequence

from django import forms
from django.db.models import Q

from fleet import clock, permissions
from fleet.actions.fitting import Move, said
from fleet.exchange import cells
from fleet.faults import Fault
from fleet.forms import Day
from fleet.models import Device, Installation, Position, User
from fleet.reports.reasons import with_day_words

MANY = 5


class TakeOutForm(forms.Form):
    """The day, and which spell the page showed as standing, so that nobody ends another."""

    use_required_attribute = False

    on = Day(label="Day it came out")
    standing = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(
        self, data=None, *, position: Position, standing: Installation | None, user: User, today
    ) -> None:
        key = standing.pk if standing else None
        super().__init__(data, initial={"on": today, "standing": key})
        self.position, self.now_standing, self.user = position, standing, user

    def move(self) -> Move:
        data = self.cleaned_data
        return Move(self.position, data["on"], data["standing"])

    def refuse(self, faults: Sequence[Fault]) -> None:
        """Each fault beside its field. What was typed stays; what the page shows is brought up to
        date, so that saving again decides on what stands now."""
        self.data = self.data.copy()
        self.data["standing"] = str(self.now_standing.pk) if self.now_standing else ""
        self.data["accepted"] = said([f.expected for f in faults if f.code == "mismatch"])
        for fault in faults:
            is_shown = fault.field in self.fields and not self[fault.field].is_hidden
            self.add_error(fault.field if is_shown else None, sentence(fault))


def sentence(fault: Fault) -> str:
    words = f"“{fault.typed}”: expected {fault.expected}" if fault.typed else fault.expected
    return with_day_words(f"{words[0].upper()}{words[1:]}.")


class VoidForm(forms.Form):
    """Why a fitting that was written down was a mistake."""

    use_required_attribute = False

    reason = forms.CharField(
        label="What was wrong",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Kept with the installation, under your name.",
    )

    def refuse(self, faults: Sequence[Fault]) -> None:
        for fault in faults:
            self.add_error("reason" if fault.field == "reason" else None, sentence(fault))


class FitForm(TakeOutForm):
    """A device goes in; what stood there, if anything, comes out the same day."""

    field_order = ("device", "on", "fitted_by", "override_reason", "standing", "accepted")

    on = Day(label="Day it was fitted")
    device = forms.CharField(
        label="Device",
        max_length=80,
        help_text="The owner's number or the serial.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    fitted_by = forms.ModelChoiceField(
        User.objects.none(), label="Fitted by", required=False, empty_label="not known"
    )
    override_reason = forms.CharField(
        label="Why it is fitted all the same",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Kept with the installation, under your name. Or name another device above.",
    )
    accepted = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, data=None, **about) -> None:
        super().__init__(data, **about)
        people = User.objects.filter(memberships__site=self.position.site_id, is_active=True)
        self.fields["fitted_by"].queryset = people.distinct().order_by("name")
        if self.user.may(permissions.RECORD_JOB, self.position.site_id):
            self.initial["fitted_by"] = self.user.pk
        if self.now_standing:
            self.fields["on"].label = "Day of the swap"

    def clean_device(self) -> Device:
        """The one device that this names, among those this person may see."""
        typed = self.cleaned_data["device"]
        named = Q(number__iexact=typed) | Q(serial__iexact=typed)
        found = list(Device.objects.visible_to(self.user).filter(named).order_by("number")[:MANY])
        if len(found) == 1:
            return found[0]
        expected = "a device number or a serial of the register"
        if found:
            expected = f"one device; it could be {', '.join(device.number for device in found)}"
        raise forms.ValidationError(f"“{typed}”: expected {expected}.")

    def clean_override_reason(self) -> str:
        """Read as the workbook reads it, in which it goes out and comes in again."""
        typed = " ".join(self.cleaned_data["override_reason"].split())
        try:
            return cells.telling().read(typed, cells.Reading(clock.today())) if typed else ""
        except cells.CellError as error:
            raise forms.ValidationError(f"“{error.typed}”: expected {error.expected}.") from error

    def move(self) -> Move:
        data = self.cleaned_data
        return Move(
            self.position,
            data["on"],
            data["standing"],
            data["device"],
            data["fitted_by"],
            data["override_reason"],
            data["accepted"],
        )

    def asks_for_reason(self) -> bool:
        """Only once something does not match, or while a reason is typed."""
        return bool(self["override_reason"].errors or self["override_reason"].value())
