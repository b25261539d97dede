"""The as-left pop, and how tight the seat is then."""

from django import forms

from fleet.calc.units import GAUGE, LEAK_RATE
from inspections.actions.basis import Basis, Tightness, basis_of, tightness_of
from inspections.actions.caps import cap_of
from inspections.actions.shop import left_outside
from inspections.actions.step import Step
from inspections.actions.verify import lacks_as_found
from inspections.calc.pops import Cap
from inspections.calc.resetting import beyond_spring
from inspections.forms.as_received import AsReceivedForm as AsReceivedForm
from inspections.forms.inputs import QuantityInput, StepForm
from inspections.models import Disposition, Medium, Stage

OF_THE_JOB = ("medium", "disposition", "left_reason")


class AsLeftForm(StepForm):
    step, title = "as_left", "As-left pop"

    as_left_pop = QuantityInput(label="As-left pop", dimensions=(GAUGE,))
    reseat = QuantityInput(
        label="Reseat",
        dimensions=(GAUGE,),
        help_text="Bench blowdown is not service blowdown: rings are set by instruction.",
    )
    leak_rate = QuantityInput(label="Seat leakage", dimensions=(LEAK_RATE,))
    medium = forms.ChoiceField(
        label="Medium",
        choices=[("", "not given"), *Medium.choices],
        required=False,
        help_text="The leakage limit depends on it.",
    )
    disposition = forms.ChoiceField(
        label="Where it goes",
        choices=[("", "not decided"), *Disposition.choices],
        required=False,
    )
    left_reason = forms.CharField(
        label="Left outside this site's own tolerance because",
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Inside the limit in force it may go back so; or set it again.",
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if self.basis.own_band is None and not self.record.inspection.left_reason:
            del self.fields["left_reason"]

    @property
    def asks_why(self) -> bool:
        """Does what is written ask for a reason, or give one? While it is typed the answer says."""
        return bool(self.record.inspection.left_reason or left_outside(self.record))

    @property
    def lacks_as_found(self) -> bool:
        """Has nobody said yet how it came? Then this comes too early, and is kept all the same."""
        return lacks_as_found(self.record)

    @property
    def basis(self) -> Basis:
        if not hasattr(self, "_basis"):
            self._basis = basis_of(self.record.inspection)
        return self._basis

    @property
    def cap(self) -> Cap | None:
        return cap_of(self.record.inspection)

    @property
    def beyond_spring(self) -> str:
        duty, device = self.basis.duty, self.record.inspection.device
        return beyond_spring(device.nameplate_set, duty.set_pressure if duty else None)

    @property
    def tightness(self) -> Tightness:
        return tightness_of(self.record.inspection, self.basis)

    def stored(self):
        left, values = self.record.as_left_pop(), super().stored()
        values["as_left_pop"] = left.pressure if left else None
        values["reseat"] = left.reseat if left else None
        values["leak_rate"] = left.leak_rate if left else None
        return values

    def to_step(self):
        data = self.cleaned_data
        pop = {
            "pressure": data["as_left_pop"],
            "reseat": data["reseat"],
            "leak_rate": data["leak_rate"],
        }
        return Step(
            self.step,
            values={name: data[name] for name in OF_THE_JOB if name in data},
            pops={(Stage.AS_LEFT, 1): pop if any(pop.values()) else None},
        )
