"""The walk of a bench job: starting it, arriving, inspecting, sealing, and the order of steps."""

from django import forms

from fleet.calc.activities import ACTIVITIES
from fleet.reports.reasons import activity_words
from inspections.actions.kinds import has_vacuum
from inspections.actions.outside import is_outside
from inspections.actions.receipt import is_receipt
from inspections.actions.step import Step
from inspections.calc.parts import PILOT, PIN, RUPTURE_DISC, VENT
from inspections.forms.discs import DiscForm, OutcomeForm
from inspections.forms.inputs import DayInput, StepForm
from inspections.forms.parts import InspectForm
from inspections.forms.pops import AsLeftForm, AsReceivedForm
from inspections.forms.receipt import ReceiptForm
from inspections.forms.settings import AsFoundForm, ReassembleForm
from inspections.forms.vacuum import VacuumFoundForm, VacuumLeftForm
from inspections.models import Inspection, Method


class StartForm(forms.Form):
    ELSEWHERE = ("shop", "sent_on", "certified_by")

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
        label="Day of the work",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text="Empty while the device is away at a shop.",
    )
    shop = forms.CharField(
        label="Sent to an outside shop",
        required=False,
        max_length=120,
        help_text="Its name. Its certificate is entered here, and our own second person verifies.",
    )
    sent_on = forms.DateField(
        label="Day it was sent", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    certified_by = forms.ChoiceField(
        label="Whose test it is",
        choices=[("", "ours, or the outside shop's"), (Method.MAKER, "the maker's: a new device")],
        required=False,
        help_text="A new device was never in service: there is no as-found.",
    )

    @property
    def is_elsewhere(self) -> bool:
        """Is any of it typed, or wrong? Then it stands open."""
        return any(self[name].value() or self[name].errors for name in self.ELSEWHERE)

    def clean(self):
        data = super().clean()
        if data.get("shop") and data.get("certified_by"):
            self.add_error("certified_by", "an outside shop or the maker, not both")
        if data.get("sent_on") and not data.get("shop"):
            self.add_error("shop", "the shop it was sent to")
        if not data.get("done_on") and not data.get("sent_on") and not self.errors:
            self.add_error("done_on", "the day of the work, or the day it was sent to a shop")
        return data


class ArrivalForm(StepForm):
    step, title = "arrival", "Arrival"

    done_on = DayInput(label="Day of the work", required=True)
    shop = forms.CharField(
        label="Outside shop",
        required=False,
        max_length=120,
        help_text="Only what was done elsewhere names a shop. Done here after all? Empty it.",
    )
    sent_on = DayInput(label="Day it was sent")
    received_on = DayInput(label="Day it came back")
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

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        inspection = self.record.inspection
        if inspection.method == Method.MAKER:
            del self.fields["shop"], self.fields["sent_on"]
            self.fields["received_on"].label = "Day it was received"
        elif inspection.shop:
            self.fields["done_on"].required = False
            self.fields["done_on"].help_text = "As its certificate says; empty while it is away."

    def clean(self):
        data = super().clean()
        away = data.get("sent_on") or data.get("received_on")
        if "shop" in self.fields and away and not data.get("shop"):
            self.add_error("shop", "the shop it was sent to, or no days of despatch and receipt")
        if "shop" in self.fields and not data.get("shop") and not data.get("done_on"):
            self.add_error("done_on", "the day of the work")
        return data


class SealForm(StepForm):
    step, title = "seal", "Seal and sign"

    seal_left = forms.CharField(label="Seal and lock-wire number", required=False, max_length=120)
    certificate = forms.CharField(label="Certificate number", required=False, max_length=120)
    witnessed_by = forms.CharField(label="Witnessed by", required=False, max_length=120)
    shop_authorization = forms.CharField(
        label="The shop's authorization", required=False, max_length=120
    )
    done_by_name = forms.CharField(
        label="Who did the work, as the certificate names them", required=False, max_length=120
    )

    OUTSIDE = ("shop_authorization", "done_by_name")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if not is_outside(self.record.inspection):
            for name in self.OUTSIDE:
                del self.fields[name]

    def stored(self):
        done_by = self.record.inspection.done_by
        return super().stored() | {"done_by_name": done_by.name if done_by else ""}

    def to_step(self):
        values = dict(self.cleaned_data)
        return Step(self.step, done_by=values.pop("done_by_name", None), values=values)


STEPS: dict[str, type[StepForm]] = {
    form.step: form
    for form in (
        ArrivalForm,
        ReceiptForm,
        AsReceivedForm,
        VacuumFoundForm,
        AsFoundForm,
        InspectForm,
        DiscForm,
        ReassembleForm,
        AsLeftForm,
        VacuumLeftForm,
        OutcomeForm,
        SealForm,
    )
}

OVERHAUL = ("arrival", "as_received", "as_found", "inspect", "reassemble", "as_left", "seal")
VENT_OVERHAUL = ("arrival", "as_received", "vac_found", "as_found", "inspect", "reassemble",
                 "as_left", "vac_left", "seal")  # fmt: skip
TEST = ("arrival", "as_received", "as_left", "seal")
VENT_TEST = ("arrival", "as_received", "vac_found", "as_left", "vac_left", "seal")
LOOK = ("arrival", "inspect", "outcome", "seal")
NEW = ("receipt", "as_left", "seal")
NEW_VENT = ("receipt", "as_left", "vac_left", "seal")
DISC = ("arrival", "disc", "outcome", "seal")

# The steps of a walk by what is done and to what; "" is any other kind of device. A pilot walks as
# a spring valve does, in its own words; nothing that bursts or buckles is popped.
WALKS = {
    ("overhaul", ""): OVERHAUL,
    ("overhaul", VENT): VENT_OVERHAUL,
    ("bench_test", ""): TEST,
    ("bench_test", VENT): VENT_TEST,
    ("in_place_test", ""): TEST,
    ("in_place_test", VENT): VENT_TEST,
    ("", RUPTURE_DISC): DISC,
    ("", PIN): DISC,
    ("", ""): LOOK,
}


def walk_of(job: Inspection) -> tuple[str, ...]:
    """Of a new device on its maker's certificate its receipt, and what the certificate says.

    A pilot that opens inward too walks as a vent does, in its own words.
    """
    kind = job.device.kind
    kind = VENT if kind == PILOT and has_vacuum(job) else kind
    if is_receipt(job):
        return NEW_VENT if kind == VENT else NEW
    return walk_for(job.activity, kind)


def walk_for(activity: str, kind: str) -> tuple[str, ...]:
    """The steps in their order: of this very work on this kind, of the kind, else as any other."""
    keys = ((activity, kind), ("", kind), (activity, ""), ("", ""))
    return next(WALKS[key] for key in keys if key in WALKS)
