"""What a rule and a tolerance have in common when somebody writes one down: where it comes from."""

from collections.abc import Iterable
from typing import Any

from django import forms

from fleet.faults import Fault
from fleet.models.rules import Sourced

SHOWN = 20  # reasons, of many positions that stand in the way
TAKEN = {"new"}  # an address of its own


class SourcedForm(forms.Form):
    """old: what it is to replace; its source is not taken over, for it says something else."""

    use_required_attribute = False

    code = forms.RegexField(
        r"^[A-Za-z0-9][A-Za-z0-9._-]{2,59}$",
        label="Id",
        max_length=60,
        help_text="What sheets and lists name it by, for good: site-steam-3y.",
        error_messages={"invalid": "3 to 60 letters, figures, dots and hyphens were expected."},
    )
    citation = forms.CharField(
        max_length=200, label="Source", help_text="Where it is written: section, procedure, letter."
    )
    edition = forms.CharField(
        max_length=80, required=False, help_text="Edition or issue, with its date."
    )
    is_verified = forms.BooleanField(
        required=False, label="I have read it in a copy of this edition"
    )

    def __init__(self, data, *, initial: dict[str, Any], old: Sourced | None) -> None:
        super().__init__(data, initial=initial)
        self.old = old

    def clean_code(self) -> str:
        code = self.cleaned_data["code"]
        if code in TAKEN:
            raise forms.ValidationError(f"“{code}”: another id, this one is an address here.")
        return code

    def say(self, field: str, typed: str, expected: str) -> None:
        """What is wrong, beside the box it is about, or above all of them."""
        was = f"“{typed}”: " if typed else ""
        words = expected if expected.startswith("expected ") else f"expected {expected}"
        self.add_error(self.box_of(field), f"{was}{words}.")

    def box_of(self, field: str) -> str | None:
        name = {"id": "code"}.get(field, field)
        return name if name in self.fields else None

    def show(self, faults: Iterable[Fault]) -> None:
        """What an action refused."""
        every = list(faults)
        for fault in every[:SHOWN]:
            self.say(fault.field, fault.typed, fault.expected)
        if len(every) > SHOWN:
            self.add_error(None, f"And {len(every) - SHOWN} more.")

    def sourced(self) -> dict[str, Any]:
        """What every such row says; without its stamps."""
        names = ("code", "citation", "edition", "is_verified")
        row = {name: self.cleaned_data[name] for name in names}
        return {**row, "from_on": self.cleaned_data["from_on"], "replaces": self.old}
