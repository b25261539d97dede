"""The walk of a bench job: starting it, arriving, inspecting, sealing, and the order of steps."""

from django import forms

from fleet.calc.activities import ACTIVITIES
from fleet.reports.reasons import activity_words
from inspections.forms.inputs import StepForm
from inspections.forms.parts import InspectForm
from inspections.forms.pops import AsLeftForm, AsReceivedForm
from inspections.forms.settings import AsFoundForm, ReassembleForm


class StartForm(forms.Form):
    device = forms.CharField(
        label="Device or tag",
        help_text="The owner's number, the serial or the tag; or scan its hand-tag.",
    )
    activity = forms.ChoiceField(
        label="What is to be done",
        choices=[(a, activity_words(a)) for a in ACTIVITIES],
        initial="overhaul",
    )
    done_on = forms.DateField(
        label="Day of the work", widget=forms.DateInput(attrs={"type": "date"})
    )


class ArrivalForm(StepForm):
    step, title = "arrival", "Arrival"

    done_on = forms.DateField(
        label="Day of the work", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    tag_typed = forms.CharField(label="Tag on the sheet or hand-tag", required=False, max_length=80)
    seal_found = forms.CharField(
        label="Seals as they came",
        required=False,
        max_length=120,
        help_text="Number, or “broken”, or “missing”. A broken or missing seal is a finding.",
    )
    remarks = forms.CharField(
        label="Condition on arrival",
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="Deposits, corrosion, damage in transport; anything the next person should know.",
    )


class SealForm(StepForm):
    step, title = "seal", "Seal and sign"

    seal_left = forms.CharField(label="Seal and lock-wire number", required=False, max_length=120)
    certificate = forms.CharField(label="Certificate number", required=False, max_length=120)
    witnessed_by = forms.CharField(label="Witnessed by", required=False, max_length=120)


STEPS: dict[str, type[StepForm]] = {
    form.step: form
    for form in (
        ArrivalForm,
        AsReceivedForm,
        AsFoundForm,
        InspectForm,
        ReassembleForm,
        AsLeftForm,
        SealForm,
    )
}
WALKS = {
    "overhaul": tuple(STEPS),
    "bench_test": ("arrival", "as_received", "as_left", "seal"),
    "in_place_test": ("arrival", "as_received", "as_left", "seal"),
    "disc_change": ("arrival", "inspect", "as_left", "seal"),
}
SHORT_WALK = ("arrival", "inspect", "as_left", "seal")
