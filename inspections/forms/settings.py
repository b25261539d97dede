"""Settings: read before stripping, restored at reassembly."""

from collections.abc import Sequence

from django import forms

from inspections.actions.step import Step
from inspections.actions.targets import Target
from inspections.forms.inputs import QuantityInput, StepForm
from inspections.models import Stage


class SettingsForm(StepForm):
    """One block a setting: value, datum when it is another, why missing; as left also why moved."""

    stage = ""

    def __init__(self, *args, targets: Sequence[Target], **kwargs):
        super().__init__(*args, targets=targets, **kwargs)
        for target in targets:
            self._add(target)
        for field in self.fields.values():
            field.show_hidden_initial = True
        for name, value in self.stored_settings().items():
            self.initial.setdefault(name, value)

    def _add(self, target: Target) -> None:
        name = target.setting
        self.fields[name] = QuantityInput(
            label=target.words, dimensions=(target.measure,), header_unit=target.unit
        )
        self.fields[f"{name}-datum"] = forms.CharField(
            label="Counted from, if not from " + (target.datum or "a datum on record"),
            required=False,
            max_length=120,
        )
        self.fields[f"{name}-missing_reason"] = forms.CharField(
            label="Not recorded because", required=False
        )
        if self.stage == Stage.AS_LEFT:
            self.fields[f"{name}-changed_reason"] = forms.CharField(
                label="Left off target because", required=False
            )

    PARTS = ("datum", "missing_reason", "changed_reason")

    def stored_settings(self) -> dict[str, object]:
        values: dict[str, object] = {}
        for reading in self.record.settings:
            if reading.stage == self.stage:
                values[reading.setting] = reading.value
                values[f"{reading.setting}-datum"] = reading.datum if reading.is_datum_typed else ""
                for part in ("missing_reason", "changed_reason"):
                    values[f"{reading.setting}-{part}"] = getattr(reading, part)
        return {name: value for name, value in values.items() if name in self.fields}

    def stored(self):
        return {}

    def words_for(self, name):
        setting = name.partition("-")[0].replace("_", " ")
        label = super().words_for(name)
        return label if label == setting else f"{setting}: {label}"

    def blocks(self):
        """Each target with its bound fields, for the page."""
        for target in self.targets:
            name = target.setting
            parts = [self[f"{name}-{p}"] for p in self.PARTS if f"{name}-{p}" in self.fields]
            yield target, self[name], parts

    def clean(self):
        data = super().clean()
        for target in self.targets:
            name = target.setting
            why = data.get(f"{name}-missing_reason")
            others = [data.get(f"{name}-{part}") for part in ("datum", "changed_reason")]
            if name in self.errors or not (data.get(name) or why or any(others)):
                continue
            if data.get(name) and why:
                self.add_error(f"{name}-missing_reason", "a value or why it is missing, not both")
            elif not data.get(name) and not why:
                self.add_error(name, "a value, or why it is missing")
        return data

    def to_step(self):
        return Step(
            self.step,
            settings={(t.setting, self.stage): self._columns(t) for t in self.targets},
        )

    def _columns(self, target: Target) -> dict | None:
        data, name = self.cleaned_data, target.setting
        given = {part: data.get(f"{name}-{part}", "") for part in self.PARTS}
        if data[name] is None and not given["missing_reason"]:
            return None
        return {
            "value": data[name],
            "datum": given["datum"] or target.datum,
            "is_datum_typed": bool(given["datum"]),
            "missing_reason": given["missing_reason"],
            "changed_reason": given["changed_reason"],
        }


class AsFoundForm(SettingsForm):
    step, title, stage = "as_found", "As found", Stage.AS_FOUND


class ReassembleForm(SettingsForm):
    step, title, stage = "reassemble", "Reassemble", Stage.AS_LEFT
