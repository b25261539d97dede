"""The as-received pop: taken before anything is touched, and what it was read on."""

import re

from django import forms

from fleet.calc.units import GAUGE, LEAK_RATE, UnitsError, parse_quantity
from inspections.actions.basis import ASSISTED, Basis, basis_of
from inspections.actions.caps import IN_PLACE, cap_of
from inspections.actions.step import Step
from inspections.calc.gauges import gauge_of
from inspections.calc.pops import Cap
from inspections.forms.inputs import QuantityInput, StepForm
from inspections.models import Medium, Method, PopTest, Stage

FACTOR = re.compile(r"\d+([.,]\d+)?")


class AsReceivedForm(StepForm):
    step, title = "as_received", "As-received pop"

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
    first_reseat = QuantityInput(label="It reseated at", dimensions=(GAUGE,))
    first_leak = QuantityInput(label="Seat leakage as received", dimensions=(LEAK_RATE,))
    first_pop_correction = forms.CharField(
        label="Why the first pop is another than written before",
        required=False,
        max_length=200,
        help_text="Only to correct it. Both figures, your name and this reason go on record.",
    )
    waived_reason = forms.CharField(
        label="Test waived because",
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Too fouled to pop. The interval must then be shortened, and fouled again,"
        " shortened again (API RP 576 6.2.9).",
    )
    cold_test_pressure = QuantityInput(
        label="Cold differential test pressure",
        dimensions=(GAUGE,),
        help_text="Leave empty to use the position's own.",
    )
    method = forms.ChoiceField(label="Method", choices=Method, required=False)
    medium = forms.ChoiceField(
        label="Medium", choices=[("", "not given"), *Medium.choices], required=False
    )
    lift_factor = forms.CharField(
        label="Correction factor of the lift assist",
        required=False,
        max_length=40,
        help_text="From its maker. Another method: never in one trend with full-pressure pops.",
    )
    cap_owner = QuantityInput(label="Owner's limit", dimensions=(GAUGE,))
    cap_rig = QuantityInput(label="Rating of the test rig", dimensions=(GAUGE,))
    cap_equipment = QuantityInput(
        label="What the protected equipment allows", dimensions=(GAUGE,), help_text="In place only."
    )
    gauge = forms.CharField(label="Gauge", required=False, max_length=80)
    gauge_range = forms.CharField(label="Gauge range", required=False, max_length=80)
    gauge_accuracy = forms.CharField(label="Gauge accuracy", required=False, max_length=40)
    gauge_due_on = forms.DateField(
        label="Gauge calibration good until",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    FIRST = {"reseat": "first_reseat", "leak_rate": "first_leak"}
    POPS = ("first_pop", "first_pop_result", "no_lift_at", "later_pops", "first_pop_correction",
            *FIRST.values())  # fmt: skip

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if self.first is None or self.first.pressure is None:
            del self.fields["first_pop_correction"]
        if self.record.inspection.method not in IN_PLACE:
            for name in ("cap_equipment", "lift_factor"):
                if not getattr(self.record.inspection, name):
                    del self.fields[name]

    @property
    def first(self) -> PopTest | None:
        return self.record.first_pop()

    @property
    def basis(self) -> Basis:
        """What the pops are judged by, as the record stands."""
        if not hasattr(self, "_basis"):
            self._basis = basis_of(self.record.inspection)
        return self._basis

    @property
    def cap(self) -> Cap | None:
        return cap_of(self.record.inspection)

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
        for column, name in self.FIRST.items():
            values[name] = getattr(first, column) if first else None
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

    def clean_lift_factor(self):
        typed = self.cleaned_data["lift_factor"].strip()
        if typed and not FACTOR.fullmatch(typed):
            raise forms.ValidationError(f"“{typed}”: expected a number such as 1.03")
        return typed

    def clean_gauge_range(self):
        return self._read(self.cleaned_data["gauge_range"], "")

    def clean_gauge_accuracy(self):
        return self._read("", self.cleaned_data["gauge_accuracy"])

    @staticmethod
    def _read(range_typed: str, accuracy_typed: str) -> str:
        try:
            gauge_of(range_typed, accuracy_typed, None)
        except UnitsError as error:
            raise forms.ValidationError(f"“{error.typed}”: expected {error.expected}") from error
        return range_typed or accuracy_typed

    def clean(self):
        data = super().clean()
        first, stopped = data.get("first_pop"), data.get("no_lift_at")
        for name, words in self._contradictions(data, first, stopped):
            self.add_error(name, words)
        return data

    def _contradictions(self, data, first, stopped):
        """(field, words) of what cannot both be so."""
        result = data.get("first_pop_result")
        given = first or stopped
        if first and stopped:
            yield "no_lift_at", "a first pop or a pressure without lift, not both"
        if first and result == PopTest.Result.NO_LIFT:
            yield (
                "first_pop",
                "it did not lift: give the pressure under “No lift, stopped at” instead",
            )
        if stopped and result not in ("", PopTest.Result.NO_LIFT):
            yield "first_pop_result", "“no lift”, or nothing: a pressure says it did not"
        if stopped and data.get("first_reseat"):
            yield "first_reseat", "what never opened did not reseat"
        if data.get("waived_reason") and given:
            yield "waived_reason", "a first pop or why the test was waived, not both"
        if not given and not self.errors.get("first_pop"):
            for name, words in {
                "later_pops": "later pops are",
                "first_reseat": "a reseat is",
            }.items():
                if data.get(name):
                    yield "first_pop", f"{words} given, but not the first pop"
        if data.get("lift_factor") and data.get("method") not in ASSISTED:
            yield "lift_factor", "only a lift-assisted test has one: choose that method"

    def to_step(self):
        data = self.cleaned_data
        values = {name: value for name, value in data.items() if name not in self.POPS}
        later = data["later_pops"]
        pops: dict = {(Stage.AS_FOUND, 1): self._first(data)}
        found = [p for p in self.record.pops if p.stage == Stage.AS_FOUND]
        stored = max((p.order for p in found), default=1)
        censored = [p.pressure for p in found if p.order > 1 and p.bound == PopTest.Bound.ABOVE]
        for order in range(2, max(stored, len(later) + 1) + 1):
            given = later[order - 2] if order - 2 < len(later) else None
            pops[Stage.AS_FOUND, order] = self._later(given, censored) if given else None
        why = data.get("first_pop_correction", "")
        return Step(self.step, values=values, pops=pops, correction=why)

    @staticmethod
    def _later(pressure, censored) -> dict:
        """A later "no lift" stays one wherever the list moves it, and no other becomes one."""
        bound = PopTest.Bound.ABOVE if pressure in censored else PopTest.Bound.EXACT
        return {"pressure": pressure, "bound": bound}

    def _first(self, data) -> dict | None:
        pressure = data["first_pop"] or data["no_lift_at"]
        bound = PopTest.Bound.ABOVE if data["no_lift_at"] else PopTest.Bound.EXACT
        result = data["first_pop_result"] or ("no_lift" if data["no_lift_at"] else "")
        others = {column: data[name] for column, name in self.FIRST.items()}
        if not (pressure or result or others["leak_rate"]):
            return None
        return {"pressure": pressure, "bound": bound, "result": result, **others}
