"""Settings: read before stripping, restored at reassembly."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django import forms
from django.forms import BoundField

from inspections.actions.step import Step
from inspections.actions.targets import Target
from inspections.calc.naming import EFFECTS, checked_by, checks
from inspections.calc.readings import same_datum
from inspections.forms.inputs import QuantityInput, StepForm
from inspections.models import SettingReading, Stage

NO_DATUM = "counted from where? A count without its datum says nothing"
WHY_MOVED = "why is it counted from another datum: machining, lapping, a new nozzle?"


@dataclass(frozen=True)
class Block:
    """One setting on the page: its box, what stands beside it, what is folded away."""

    target: Target
    field: BoundField
    beside: list[BoundField]
    folded: list[BoundField]
    asks: list[BoundField]  # the boxes that the answer beside it is about
    counted_from: str
    effect: str
    is_found: bool  # as found, or why not, is written down
    fills: str  # what one tap types: the target as it is written; "" where it is not to be offered


class SettingsForm(StepForm):
    """One block a setting: value, datum when it is another, why missing; as left also why moved."""

    stage = ""
    LABELS = {
        "datum": "Counted from, if from another datum",
        "datum_reason": "What moved the datum: machining, lapping, a new part",
        "missing_reason": "Not recorded because",
    }
    LENGTHS = {"datum": 120, "datum_reason": 120, "seconded_by": 40}

    def __init__(self, *args, targets: Sequence[Target], **kwargs):
        super().__init__(*args, targets=targets, **kwargs)
        self.readings: dict[str, SettingReading] = {
            row.setting: row for row in self.record.settings if row.stage == self.stage
        }
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
        for part, label in self.LABELS.items():
            length = self.LENGTHS.get(part)
            self.fields[f"{name}-{part}"] = forms.CharField(
                label=label, required=False, max_length=length
            )

    def stored_settings(self) -> dict[str, object]:
        values: dict[str, object] = {}
        for setting, reading in self.readings.items():
            values[setting] = reading.value
            for part in self.LABELS:
                values[f"{setting}-{part}"] = getattr(reading, part)
            values[f"{setting}-datum"] = reading.datum if reading.is_datum_typed else ""
        return {name: value for name, value in values.items() if name in self.fields}

    def stored(self):
        return {}

    def words_for(self, name):
        setting = name.partition("-")[0].replace("_", " ")
        label = super().words_for(name)
        return label if label == setting else f"{setting}: {label}"

    def counted_from(self, target: Target) -> str:
        """A reading keeps the datum it was read in, whatever the model says since."""
        reading = self.readings.get(target.setting)
        own = reading.datum if reading is not None and not reading.is_datum_typed else ""
        return own or target.datum

    def blocks(self) -> Iterator[Block]:
        """Each target with its bound fields, for the page."""
        found = {row.setting for row in self.record.settings if row.stage == Stage.AS_FOUND}
        for target in self.targets:
            name = target.setting
            parts = {part: self[f"{name}-{part}"] for part in self.LABELS}
            second = parts.pop("seconded_by", None)
            yield Block(
                target,
                self[name],
                [second] if second else [],
                list(parts.values()),
                self._asks(target),
                self.counted_from(target),
                EFFECTS.get(name, ""),
                name in found,
                self._fills(target, self[name]),
            )

    def _fills(self, target: Target, box: BoundField) -> str:
        """As left alone, and only in the datum that the target is counted from: what was found is
        read off the valve and typed."""
        is_sure = target.value is not None and not target.caution
        if self.stage != Stage.AS_LEFT or not is_sure:
            return ""
        if not same_datum(target.value_datum, self.counted_from(target)):
            return ""
        return json.dumps({box.id_for_label: str(target.value)})

    def _asks(self, target: Target) -> list[BoundField]:
        """Its own boxes, and those of the setting that reads it by another method."""
        own = target.setting
        names = [own, *(n for n in (checked_by(own), checks(own)) if n in self.fields)]
        parts = ("", "-datum", "-datum_reason")
        return [self[f"{name}{part}"] for name in names for part in parts]

    def clean(self):
        data = super().clean()
        for target in self.targets:
            name = target.setting
            why = data.get(f"{name}-missing_reason")
            others = [data.get(f"{name}-{part}") for part in self.LABELS]
            if name in self.errors or not (data.get(name) or any(others)):
                continue
            if data.get(name) and why:
                self.add_error(f"{name}-missing_reason", "a value or why it is missing, not both")
            elif not data.get(name) and not why:
                self.add_error(name, "a value, or why it is missing")
            if data.get(name):
                self._check_datum(target)
        return data

    def _check_datum(self, target: Target) -> None:
        """A count needs a datum; another datum than it was left in needs what moved it."""
        name, data = target.setting, self.cleaned_data
        typed = data.get(f"{name}-datum", "")
        before = target.left_datum or target.datum
        if not (typed or self.counted_from(target)):
            self.add_error(f"{name}-datum", NO_DATUM)
        is_moved = typed and before and not same_datum(typed, before)
        if is_moved and not data.get(f"{name}-datum_reason"):
            self.add_error(f"{name}-datum_reason", WHY_MOVED)

    def to_step(self):
        return Step(
            self.step,
            settings={(t.setting, self.stage): self._columns(t) for t in self.targets},
        )

    def _columns(self, target: Target) -> dict | None:
        data, name = self.cleaned_data, target.setting
        given = {part: data.get(f"{name}-{part}", "") for part in self.LABELS}
        if data[name] is None and not given["missing_reason"]:
            return None
        typed = given["datum"]
        return given | {
            "value": data[name],
            "datum": typed or self.counted_from(target),
            "is_datum_typed": bool(typed),
        }


class AsFoundForm(SettingsForm):
    step, title, stage = "as_found", "As found", Stage.AS_FOUND


class ReassembleForm(SettingsForm):
    step, title, stage = "reassemble", "Reassemble", Stage.AS_LEFT
    LABELS = SettingsForm.LABELS | {
        "changed_reason": "Left off target because",
        "seconded_by": "Second initials",
    }
