"""The walk of a bench job: starting it, arriving, inspecting, sealing, and the order of steps."""

from django import forms

from fleet.calc.activities import ACTIVITIES
from fleet.reports.reasons import activity_words
from inspections.actions.step import Step
from inspections.forms.inputs import StepForm
from inspections.forms.pops import AsLeftForm, AsReceivedForm
from inspections.forms.settings import AsFoundForm, ReassembleForm


class StartForm(forms.Form):
    device = forms.CharField(
        label="Device or tag", help_text="The owner's number, the serial or the tag; or scan its hand-tag."
    )
    activity = forms.ChoiceField(
        label="What is to be done",
        choices=[(a, activity_words(a)) for a in ACTIVITIES],
        initial="overhaul",
    )
    done_on = forms.DateField(
        label="Day of the work", widget=forms.DateInput(attrs={"type": "date"})
    )


class ArrivalForm(StepForm):
    step, title = "arrival", "Arrival"

    done_on = forms.DateField(
        label="Day of the work", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
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


class InspectForm(StepForm):
    """Findings by part: what is stored and a few blank rows."""

    step, title = "inspect", "Inspect and repair"
    COLUMNS = ("part", "condition", "action", "measure", "value")
    LABELS = {
        "part": "Part",
        "condition": "What was seen",
        "action": "What was done",
        "measure": "Measured",
        "value": "Figure",
    }
    BLANK = 3
    BOXES = {"part": 80, "condition": 200, "action": 200, "measure": 80, "value": 60}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.count = max(len(self.record.findings) + self.BLANK, _rows_in(self.data))
        for row in range(self.count):
            finding = self.record.findings[row] if row < len(self.record.findings) else None
            for column in self.COLUMNS:
                name = f"{row}-{column}"
                self.fields[name] = forms.CharField(
                    label=self.LABELS[column],
                    required=False,
                    max_length=self.BOXES[column],
                    show_hidden_initial=True,
                )
                self.initial.setdefault(name, getattr(finding, column, ""))

    def stored(self):
        return {}

    def rows(self):
        return [[self[f"{row}-{column}"] for column in self.COLUMNS] for row in range(self.count)]

    def clean(self):
        data = super().clean()
        for row in range(self.count):
            given = {column: data.get(f"{row}-{column}", "") for column in self.COLUMNS}
            for needed in ("part", "condition"):
                if any(given.values()) and not given[needed]:
                    self.add_error(f"{row}-{needed}", f"which {needed}?")
        return data

    def words_for(self, name):
        row, _, column = name.partition("-")
        return f"finding {int(row) + 1}, {column}"

    def rebased(self, typed):
        """A finding typed into a row that was blank, and that somebody has filled meanwhile, is
        another finding: it moves to a row that is still blank."""
        moved, blank = typed.copy(), max(len(self.record.findings), _rows_in(typed))
        for row, finding in enumerate(self.record.findings):
            mine = [typed.get(f"{row}-{column}", "") for column in self.COLUMNS]
            base = [typed.get(f"initial-{row}-{column}", "") for column in self.COLUMNS]
            stored = [getattr(finding, column) for column in self.COLUMNS]
            if any(base) or not any(mine) or mine == stored:
                continue
            for column, value in zip(self.COLUMNS, mine, strict=True):
                moved[f"{blank}-{column}"], moved[f"{row}-{column}"] = value, ""
                moved[f"initial-{blank}-{column}"] = ""
            blank += 1
        return moved

    def to_step(self):
        findings, orders = [], {}
        for row in range(self.count):
            given = {column: self.cleaned_data[f"{row}-{column}"] for column in self.COLUMNS}
            if given["part"]:
                orders[given["part"]] = orders.get(given["part"], 0) + 1
                findings.append({**given, "order": orders[given["part"]]})
        return Step(self.step, findings=findings)


def _rows_in(data) -> int:
    """How many rows of findings were sent."""
    numbers = (key.partition("-")[0] for key in data if key.endswith("-part"))
    return max((int(n) + 1 for n in numbers if n.isdecimal() and len(n) < 4), default=0)


class SealForm(StepForm):
    step, title = "seal", "Seal and sign"

    seal_left = forms.CharField(label="Seal and lock-wire number", required=False, max_length=120)
    certificate = forms.CharField(label="Certificate number", required=False, max_length=120)
    witnessed_by = forms.CharField(label="Witnessed by", required=False, max_length=120)


STEPS: dict[str, type[StepForm]] = {
    form.step: form
    for form in (
        ArrivalForm,
        AsReceivedForm,
        AsFoundForm,
        InspectForm,
        ReassembleForm,
        AsLeftForm,
        SealForm,
    )
}
WALKS = {
    "overhaul": tuple(STEPS),
    "bench_test": ("arrival", "as_received", "as_left", "seal"),
    "in_place_test": ("arrival", "as_received", "as_left", "seal"),
    "disc_change": ("arrival", "inspect", "as_left", "seal"),
}
SHORT_WALK = ("arrival", "inspect", "as_left", "seal")
