"""The as-left pop, and how tight the seat is then."""

from django import forms

from fleet.calc.units import GAUGE, LEAK_RATE
from inspections.actions.basis import Basis, Tightness, basis_of, tightness_of
from inspections.actions.caps import cap_of
from inspections.actions.step import Step
from inspections.actions.verify import lacks_as_found
from inspections.calc.pops import Cap
from inspections.forms.as_received import AsReceivedForm as AsReceivedForm
from inspections.forms.inputs import QuantityInput, StepForm
from inspections.models import Disposition, Stage


class AsLeftForm(StepForm):
    step, title = "as_left", "As-left pop"

    as_left_pop = QuantityInput(label="As-left pop", dimensions=(GAUGE,))
    reseat = QuantityInput(
        label="Reseat",
        dimensions=(GAUGE,),
        help_text="Bench blowdown is not service blowdown: rings are set by instruction.",
    )
    leak_rate = QuantityInput(label="Seat leakage", dimensions=(LEAK_RATE,))
    disposition = forms.ChoiceField(
        label="Where it goes",
        choices=[("", "not decided"), *Disposition.choices],
        required=False,
    )

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
            values={"disposition": data["disposition"]},
            pops={(Stage.AS_LEFT, 1): pop if any(pop.values()) else None},
        )
