"""Pops: as received before anything is touched, and as left."""

from django import forms

from fleet.calc.units import GAUGE, LEAK_RATE, UnitsError, parse_quantity
from inspections.actions.step import Step
from inspections.forms.inputs import QuantityInput, StepForm
from inspections.models import Disposition, Medium, Method, PopTest, Stage


class AsReceivedForm(StepForm):
    step, title = "as_received", "As-received pop"

    method = forms.ChoiceField(label="Method", choices=Method, required=False)
    medium = forms.ChoiceField(
        label="Medium", choices=[("", "not given"), *Medium.choices], required=False
    )
    cold_test_pressure = QuantityInput(
        label="Cold differential test pressure",
        dimensions=(GAUGE,),
        help_text="Leave empty to use the position's own.",
    )
    first_pop = QuantityInput(
        label="First pop",
        dimensions=(GAUGE,),
        help_text="Before any cleaning. It is the as-found value and nothing replaces it.",
    )
    first_pop_result = forms.ChoiceField(
        label="What it did", choices=[("", "not given"), *PopTest.Result.choices], required=False
    )
    no_lift_at = QuantityInput(
        label="No lift, stopped at",
        dimensions=(GAUGE,),
        help_text="When it never opened: the pressure at which you stopped.",
    )
    later_pops = forms.CharField(
        label="Later pops", required=False, help_text="With units, separated by a semicolon."
    )
    waived_reason = forms.CharField(
        label="Test waived because", required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    gauge = forms.CharField(label="Gauge", required=False, max_length=80)
    gauge_range = forms.CharField(label="Gauge range", required=False, max_length=80)
    gauge_accuracy = forms.CharField(label="Gauge accuracy", required=False, max_length=40)
    gauge_due_on = forms.DateField(
        label="Gauge calibration good until",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    POPS = ("first_pop", "first_pop_result", "no_lift_at", "later_pops")

    def stored(self):
        found = sorted(
            (p for p in self.record.pops if p.stage == Stage.AS_FOUND), key=lambda p: p.order
        )
        values = super().stored()
        first = found[0] if found else None
        censored = first is not None and first.bound == PopTest.Bound.ABOVE
        values["first_pop"] = first.pressure if first and not censored else None
        values["no_lift_at"] = first.pressure if censored else None
        values["first_pop_result"] = first.result if first else ""
        values["later_pops"] = "; ".join(str(pop.pressure) for pop in found[1:])
        return values

    def clean_later_pops(self):
        pops = []
        for typed in filter(None, (p.strip() for p in self.cleaned_data["later_pops"].split(";"))):
            try:
                pops.append(parse_quantity(typed, (GAUGE,)))
            except UnitsError as error:
                raise forms.ValidationError(
                    f"“{error.typed}”: expected {error.expected}"
                ) from error
        return pops

    def clean_cold_test_pressure(self):
        pressure = self.cleaned_data["cold_test_pressure"]
        if pressure is not None and not pressure.magnitude:
            raise forms.ValidationError("a pressure other than zero")
        return pressure

    def clean(self):
        data = super().clean()
        first, stopped = data.get("first_pop"), data.get("no_lift_at")
        result = data.get("first_pop_result")
        if first and stopped:
            self.add_error("no_lift_at", "a first pop or a pressure without lift, not both")
        if first and result == PopTest.Result.NO_LIFT:
            words = "it did not lift: give the pressure under “No lift, stopped at” instead"
            self.add_error("first_pop", words)
        if stopped and result not in ("", PopTest.Result.NO_LIFT):
            self.add_error("first_pop_result", "“no lift”, or nothing: a pressure says it did not")
        if data.get("waived_reason") and (first or stopped):
            self.add_error("waived_reason", "a first pop or why the test was waived, not both")
        if data.get("later_pops") and not (data.get("first_pop") or data.get("no_lift_at")):
            self.add_error("first_pop", "later pops are given, but not the first")
        return data

    def to_step(self):
        data = self.cleaned_data
        values = {name: value for name, value in data.items() if name not in self.POPS}
        first = data["first_pop"] or data["no_lift_at"]
        bound = PopTest.Bound.ABOVE if data["no_lift_at"] else PopTest.Bound.EXACT
        result = data["first_pop_result"] or ("no_lift" if data["no_lift_at"] else "")
        pops: dict = {
            (Stage.AS_FOUND, 1): {"pressure": first, "bound": bound, "result": result}
            if first or result
            else None
        }
        later = data["later_pops"]
        stored = max((p.order for p in self.record.pops if p.stage == Stage.AS_FOUND), default=1)
        for order in range(2, max(stored, len(later) + 1) + 1):
            given = order - 2 < len(later)
            pops[Stage.AS_FOUND, order] = {"pressure": later[order - 2]} if given else None
        return Step(self.step, values=values, pops=pops)


class AsLeftForm(StepForm):
    step, title = "as_left", "As-left pop"

    as_left_pop = QuantityInput(label="As-left pop", dimensions=(GAUGE,))
    reseat = QuantityInput(label="Reseat", dimensions=(GAUGE,))
    leak_rate = QuantityInput(label="Seat leakage", dimensions=(LEAK_RATE,))
    disposition = forms.ChoiceField(
        label="Where it goes",
        choices=[("", "not decided"), *Disposition.choices],
        required=False,
    )

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
