"""The receipt of a new device on its maker's certificate, as one step of its own short walk."""

from collections.abc import Iterator

from django import forms
from django.forms import BoundField

from fleet.calc.units import GAUGE
from inspections.actions.receipt import doubt_of, figures_read, known_of, ordered_for
from inspections.actions.step import Step
from inspections.calc.looks import FIGURES, LOOKS, NAMEPLATE, NOT_READ, SET
from inspections.calc.parts import MEASURED
from inspections.forms.inputs import DayInput, QuantityInput, StepForm
from inspections.models import Method

DONE = "What was done about it"
TESTS = ((Method.MAKER, "the maker's, on its certificate"), (Method.BENCH, "ours after all"))
PARTS = (NAMEPLATE, *(look.part for look in LOOKS))


class ReceiptForm(StepForm):
    step, title = "receipt", "Receipt"

    received_on = DayInput(label="Day it was received")
    done_on = DayInput(
        label="Day of the maker's test", required=True, help_text="As its certificate says."
    )
    tag_typed = forms.CharField(
        label="Ordered for tag", required=False, max_length=80, help_text="Empty for a spare."
    )
    seal_found = forms.CharField(
        label="The maker's seals",
        required=False,
        max_length=120,
        help_text="Number, or “broken”, or “missing”. A broken or missing seal is a finding.",
    )
    method = forms.ChoiceField(
        label="Whose test it is",
        choices=TESTS,
        help_text="Popped on our own bench too? Then it is ours, and has a first pop.",
    )
    remarks = forms.CharField(
        label="Anything else", required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.duty = ordered_for(self.record.inspection)
        read = figures_read(self.record)
        for measure, name in FIGURES.items():
            self._add_figure(measure, name, read.get(measure))
        for look in LOOKS:
            self._add_look(look)

    def _add_figure(self, measure, name, line) -> None:
        device = self.record.inspection.device
        words = {
            "label": f"Nameplate: {measure}",
            "help_text": known_of(device, self.duty, measure),
        }
        if measure == SET:
            field = QuantityInput(dimensions=(GAUGE,), **words)
        else:
            field = forms.CharField(required=False, max_length=60, **words)
        self._add(name, field, line.value if line else "")
        self._add(f"{name}_done", _done(), line.action if line else "")

    def _add_look(self, look) -> None:
        line = next((f for f in self.record.findings if f.part == look.part), None)
        choices = [("", "not looked at yet"), *((word, word) for word in (look.good, look.bad))]
        field = forms.ChoiceField(label=look.label, choices=choices, required=False)
        self._add(look.field, field, line.condition if line else "")
        self._add(f"{look.field}_done", _done(), line.action if line else "")

    def _add(self, name, field, initial) -> None:
        field.show_hidden_initial = True
        self.fields[name] = field
        self.initial.setdefault(name, initial)

    def words_for(self, name):
        if not name.endswith("_done"):
            return super().words_for(name)
        return f"{self.fields[name.removesuffix('_done')].label}: what was done"

    # for the page

    def figures(self) -> Iterator[tuple[BoundField, BoundField, str]]:
        """(figure, what was done, how what is stored differs from what was ordered)."""
        read, device = figures_read(self.record), self.record.inspection.device
        for measure, name in FIGURES.items():
            line = read.get(measure)
            doubt = doubt_of(device, self.duty, measure, line.value) if line else ""
            yield self[name], self[f"{name}_done"], doubt

    def looks(self) -> list[tuple[BoundField, BoundField]]:
        return [(self[look.field], self[f"{look.field}_done"]) for look in LOOKS]

    # what was typed

    def clean(self):
        data = super().clean()
        for look in LOOKS:
            if data.get(f"{look.field}_done") and not data.get(look.field):
                self.add_error(look.field, "what was seen?")
        return data

    def to_step(self):
        data = self.cleaned_data
        own = ("received_on", "done_on", "tag_typed", "seal_found", "method", "remarks")
        kept = [_columns(line) for line in self.record.findings if line.part not in PARTS]
        findings = [*kept, *self._nameplate(data), *self._seen(data)]
        return Step(self.step, values={name: data[name] for name in own}, findings=findings)

    def _nameplate(self, data) -> Iterator[dict]:
        """Its figures, then what else the record says of it."""
        order = 0
        for measure, name in FIGURES.items():
            value, done = str(data[name] or ""), data[f"{name}_done"]
            if value or done:
                order += 1
                seen = MEASURED if value else NOT_READ
                line = {"part": NAMEPLATE, "condition": seen, "action": done}
                yield line | {"measure": measure, "value": value, "order": order}
        for other in self.record.findings:
            if other.part == NAMEPLATE and other.measure not in FIGURES:
                order += 1
                yield _columns(other) | {"order": order}

    def _seen(self, data) -> Iterator[dict]:
        for look in LOOKS:
            if data[look.field]:
                done = data[f"{look.field}_done"]
                yield {"part": look.part, "condition": data[look.field], "action": done, "order": 1}


def _done() -> forms.CharField:
    return forms.CharField(label=DONE, required=False, max_length=200)


def _columns(line) -> dict:
    names = ("part", "order", "condition", "action", "measure", "value")
    return {name: getattr(line, name) for name in names}
