"""Rupture discs and pins: what was found, what goes in, and where it goes. Nothing is popped."""

from django import forms

from inspections.actions.discs import about_words, is_one_shot, noun
from inspections.forms.inputs import StepForm
from inspections.forms.parts import InspectForm
from inspections.models import Disposition


class DiscForm(InspectForm):
    """The inspect step of what bursts or buckles: the parts to look at stand there already."""

    step, title = "disc", "Found, and what goes in"

    @property
    def noun(self) -> str:
        return noun(self.record.inspection.device)

    @property
    def about(self) -> str:
        return about_words(self.record.inspection)


class OutcomeForm(StepForm):
    """Where a thing goes that is not popped on a bench: a disc, a pin, what was only looked at."""

    step, title = "outcome", "Where it goes"

    disposition = forms.ChoiceField(
        label="Where it goes",
        choices=[("", "not decided"), *Disposition.choices],
        required=False,
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        device = self.record.inspection.device
        self.about = ""
        if is_one_shot(device):
            what, self.about = noun(device), about_words(self.record.inspection)
            self.fields["disposition"].help_text = (
                f"“Reinstalled”: this {what} goes in. “Replaced”: another {what} went in under this"
                f" number. “Scrapped”: this {what} is done with."
            )
