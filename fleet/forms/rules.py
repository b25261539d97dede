"""A site's own interval rule, as a form: each kind with its parameters as boxes of their own."""

from collections.abc import Callable
from typing import Any

from django import forms

from fleet.calc.intervals import (
    RUN,
    SHAPES,
    STOP,
    TEST_BEFORE_RETURN,
    TRIGGER_KINDS,
    RuleError,
    shape_from,
)
from fleet.forms.days import Day
from fleet.forms.sourced import SourcedForm
from fleet.models import IntervalRule

IDLE = {
    STOP: "not owed meanwhile, its date stands",
    RUN: "owed as in service",
    TEST_BEFORE_RETURN: "to be done before its return",
}
LENGTH = "P5Y is 5 years, P15M 15 months, P6W 6 weeks, P92D 92 days."


def length(label: str, help_text: str = "", *, required: bool = True) -> Callable[[], forms.Field]:
    return lambda: forms.CharField(
        label=label,
        max_length=20,
        required=required,
        help_text=f"{help_text} {LENGTH}".strip(),
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )


def whole(label: str, least: int, most: int, help_text: str = "") -> Callable[[], forms.Field]:
    return lambda: forms.IntegerField(
        label=label, min_value=least, max_value=most, help_text=help_text
    )


def text(label: str, help_text: str, most: int = 20) -> Callable[[], forms.Field]:
    return lambda: forms.CharField(label=label, max_length=most, help_text=help_text)


GAP = length("No more than this apart")
BOXES: dict[str, dict[str, Callable[[], forms.Field]]] = {
    "max_gap": {"gap": GAP},
    "calendar": {
        "times": whole("How often", 1, 366, "So many times in each calendar month or year."),
        "unit": lambda: forms.ChoiceField(
            label="Calendar", choices=[("year", "year"), ("month", "month")]
        ),
        "n": whole("Once in how many", 1, 366, "1 for each year or month; more only for once."),
        "gap": GAP,
    },
    "rolling": {
        "count": whole("So many", 2, 366),
        "window": length("In any", "The window, wherever it begins."),
        "gap": GAP,
    },
    "capped": {
        "target": length("Aimed at every"),
        "cap": length("Never more than", "This is what makes it late."),
    },
    "age_steps": {
        "steps": lambda: forms.CharField(
            label="Steps",
            max_length=400,
            widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false"}),
            help_text=(
                "One a line: up to what age, then the interval: P12Y P2Y. A first line that begins"
                " with P0D is for the first time alone; the last begins with “ever”: ever P1Y."
            ),
        )
    },
    "usage": {
        "counter": text("Counter", "Its name, as its readings are logged.", 40),
        "count": whole("Due every", 1, 10_000_000, "So many counted by it."),
    },
    "after_event": {
        "kinds": lambda: forms.MultipleChoiceField(
            label="After", choices=TRIGGER_KINDS.items(), widget=forms.CheckboxSelectMultiple
        ),
        "days": whole("Within how many days", 0, 366, "0 is on the same day."),
    },
    "before_use": {
        "lead": length("At least this far ahead", "P0D if the day before will do."),
        "window": length("And no earlier than", "Counted back from the season's first day."),
    },
    "group_sample": {
        "fraction": text("Share of the group", "0.20 is a fifth."),
        "window": length("In any"),
        "gap": length("Each member no more than this apart"),
        "expansion": whole("After a failure, so many more", 1, 366),
        "band": text("A failure is outside", "Per cent of set pressure: 3 %."),
    },
    "by_history": {},
}


class RuleForm(SourcedForm):
    """`rule()` gives what was filled in, unsaved."""

    field_order = ("code", "citation", "edition", "is_verified")

    def __init__(self, data=None, *, kind: str, old: IntervalRule | None = None) -> None:
        super().__init__(data, initial=_typed(old, kind), old=old)
        self.kind, self.boxes = kind, tuple(BOXES[kind])
        for name, box in BOXES[kind].items():
            self.fields[name] = box()
        if kind == "calendar":
            self.fields["n"].required = False
        self.fields["out_of_service"] = forms.ChoiceField(
            label="Days out of service",
            choices=IDLE.items(),
            initial=STOP,
        )
        if SHAPES[kind].may_lengthen:
            self.fields["ceiling"] = length(
                "A decision may lengthen it to", "Empty: no further than the rule.", required=False
            )()
        self.fields["from_on"] = Day(
            label="From",
            required=old is not None,
            help_text=(
                "Days before it keep the old rule." if old else "Empty: it has always been so."
            ),
        )

    def clean_steps(self) -> list[list[str | None]]:
        steps: list[list[str | None]] = []
        for line in self.cleaned_data["steps"].splitlines():
            parts = line.replace(",", " ").replace(":", " ").split()
            if not parts:
                continue
            if len(parts) != 2:
                raise forms.ValidationError(f"“{line}”: an age and an interval, such as P12Y P2Y.")
            steps.append([None if parts[0].casefold() == "ever" else parts[0], parts[1]])
        return steps

    def clean(self) -> dict:
        cleaned = super().clean()
        if not set(self.errors) & {*self.boxes, "ceiling", "out_of_service"}:
            try:
                shape_from(self.kind, self.parameters())
            except RuleError as error:
                self.say(error.field, error.typed, error.expected)
        return cleaned

    def parameters(self) -> dict[str, Any]:
        """What was filled in, as a rule stores it."""
        typed = self.cleaned_data
        found = {name: typed.get(name) for name in (*self.boxes, "ceiling")}
        if found.get("n") == 1 and typed.get("times") != 1:
            del found["n"]  # once in one year, and more often in it, come to the same
        if typed["out_of_service"] != STOP:
            found["out_of_service"] = typed["out_of_service"]
        return {name: value for name, value in found.items() if value not in (None, "")}

    def rule(self) -> IntervalRule:
        return IntervalRule(kind=self.kind, parameters=self.parameters(), **self.sourced())


def _typed(old: IntervalRule | None, kind: str) -> dict[str, Any]:
    """What stands in the boxes at first: the old rule's own, where its kind stays."""
    if old is None or old.kind != kind:
        return {"n": 1} if kind == "calendar" else {}
    typed = dict(old.shape.parameters())
    if "steps" in typed:
        lines = (f"{until or 'ever'} {gap}" for until, gap in typed["steps"])
        typed["steps"] = "\n".join(lines)
    return typed
