"""A vent's vacuum side, popped on its own: as it came, and as it goes back."""

from django import forms

from fleet.calc.units import GAUGE
from inspections.actions.basis import Basis, vacuum_basis_of
from inspections.actions.step import Step
from inspections.calc.vacuum import why_no_vacuum
from inspections.forms.inputs import QuantityInput, StepForm
from inspections.models import PopStage, PopTest


class VacuumInput(QuantityInput):
    """A gauge pressure below zero; cleans to a Quantity or None."""

    def __init__(self, **kwargs):
        super().__init__(dimensions=(GAUGE,), **kwargs)

    def clean(self, value):
        typed = super().clean(value)
        if typed is not None and (why := why_no_vacuum(typed)):
            raise forms.ValidationError(why)
        return typed


class VacuumForm(StepForm):
    """What both vacuum steps show: what the vacuum is judged by."""

    @property
    def basis(self) -> Basis:
        if not hasattr(self, "_basis"):
            self._basis = vacuum_basis_of(self.record.inspection)
        return self._basis


class VacuumFoundForm(VacuumForm):
    step, title = "vac_found", "Vacuum as received"

    vacuum_pop = VacuumInput(
        label="First opened inward at",
        help_text="A gauge pressure below zero, with its sign: −0.5 kPag, −2 mbarg.",
    )
    vacuum_no_lift_at = VacuumInput(
        label="No lift, stopped at",
        help_text="When it never opened: the vacuum at which you stopped.",
    )
    vacuum_result = forms.ChoiceField(
        label="What it did", choices=[("", "not given"), *PopTest.Result.choices], required=False
    )
    first_pop_correction = forms.CharField(
        label="Why the first vacuum pop is another than written before",
        required=False,
        max_length=200,
        help_text="Only to correct it. Both figures, your name and this reason go on record.",
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        found = self.record.vacuum_found()
        if found is None or found.pressure is None:
            del self.fields["first_pop_correction"]

    def stored(self):
        found = self.record.vacuum_found()
        if found is None:
            return {}
        is_bound = found.bound == PopTest.Bound.ABOVE
        return {
            "vacuum_no_lift_at" if is_bound else "vacuum_pop": found.pressure,
            "vacuum_result": found.result,
        }

    def clean(self):
        data = super().clean()
        opened, stopped = data.get("vacuum_pop"), data.get("vacuum_no_lift_at")
        if opened and stopped:
            self.add_error("vacuum_no_lift_at", "an opening or a vacuum without lift, not both")
        if opened and data.get("vacuum_result") == PopTest.Result.NO_LIFT:
            words = "it did not lift: give the vacuum under “No lift, stopped at” instead"
            self.add_error("vacuum_pop", words)
        if stopped and data.get("vacuum_result") not in ("", PopTest.Result.NO_LIFT):
            self.add_error("vacuum_result", "“no lift”, or nothing: a vacuum says it did not")
        return data

    def to_step(self):
        data = self.cleaned_data
        stopped = data["vacuum_no_lift_at"]
        pop = {
            "pressure": data["vacuum_pop"] or stopped,
            "bound": PopTest.Bound.ABOVE if stopped else PopTest.Bound.EXACT,
            "result": data["vacuum_result"] or (PopTest.Result.NO_LIFT if stopped else ""),
        }
        return Step(
            self.step,
            pops={(PopStage.VACUUM_FOUND, 1): pop if any(pop.values()) else None},
            correction=data.get("first_pop_correction", ""),
        )


class VacuumLeftForm(VacuumForm):
    step, title = "vac_left", "Vacuum as left"

    vacuum_left = VacuumInput(
        label="As left, opens inward at",
        help_text="A gauge pressure below zero, with its sign: −0.5 kPag, −2 mbarg.",
    )

    def stored(self):
        left = self.record.vacuum_left()
        return {"vacuum_left": left.pressure if left else None}

    def to_step(self):
        left = self.cleaned_data["vacuum_left"]
        pop = {"pressure": left} if left else None
        return Step(self.step, pops={(PopStage.VACUUM_LEFT, 1): pop})
