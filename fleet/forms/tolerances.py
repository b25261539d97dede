"""A site's own set-pressure tolerance, as a form: its bands, each for a range of set pressures."""

from typing import Any

from django import forms

from fleet.calc.bands import checked_tolerance
from fleet.calc.library import METRIC, US
from fleet.calc.parameters import RuleError
from fleet.forms.days import Day
from fleet.forms.sourced import SourcedForm
from fleet.models import ToleranceBand

BANDS = 4  # rows to fill in; as many as the old tolerance has, where that is more
EDGES = ("up_to", "low", "high", "floor", "system")
LABELS = {
    "up_to": "For set pressures up to",
    "low": "May open low by",
    "high": "May open high by",
    "floor": "But never less than",
    "system": "Where set is typed in",
}
HELP = {
    "up_to": "150 psig, or empty: without end.",
    "low": "-3 % or -2 psig; 0 % for not at all.",
    "high": "3 % or 2 psig.",
    "floor": "0.1 barg, where the greater of two holds. Empty for none.",
}
UNITS = (("", "any units"), (US, "US units"), (METRIC, "metric units"))


class ToleranceForm(SourcedForm):
    """`band()` gives what was filled in, unsaved."""

    basis = forms.ChoiceField(
        label="Per cent of",
        choices=[("gauge", "the gauge pressure"), ("absolute", "the absolute pressure")],
    )
    atmosphere = forms.CharField(
        max_length=40,
        required=False,
        help_text="Only for the absolute pressure: 1.01325 bara.",
    )
    covers_from = forms.CharField(
        max_length=40,
        required=False,
        label="Speaks for set pressures from",
        help_text="15 psig, or empty: from nothing.",
    )
    reseats_from = forms.CharField(
        max_length=40,
        required=False,
        label="Reseats at no less than",
        help_text="Per cent of the opening pressure: 90 %. Empty if not said.",
    )

    def __init__(self, data=None, *, old: ToleranceBand | None = None) -> None:
        super().__init__(data, initial=_typed(old), old=old)
        self.numbers = range(1, max(BANDS, len(old.definition["bands"]) if old else 0) + 1)
        for number in self.numbers:
            for edge in EDGES:
                self.fields[f"{edge}_{number}"] = _edge(edge, is_needed=number == 1)
        self.fields["from_on"] = Day(
            label="From",
            required=old is not None,
            help_text=(
                "Days before it keep the old one." if old else "Empty: it has always been so."
            ),
        )

    def rows(self) -> list[list[forms.BoundField]]:
        """The boxes of each band."""
        return [[self[f"{edge}_{n}"] for edge in EDGES] for n in self.numbers]

    def clean(self) -> dict:
        cleaned = super().clean()
        if not set(self.errors) - {"code", "citation", "edition", "from_on"}:
            try:
                checked_tolerance(cleaned.get("code", ""), self.definition())
            except RuleError as error:
                self.say(error.field, error.typed, error.expected)
        return cleaned

    def box_of(self, field: str) -> str | None:
        """The action counts the bands that were filled in, the form its rows."""
        filled = [n for n in self.numbers if self._band(n)]
        if field in ("low", "high", "floor") and filled:
            return f"{field}_{filled[0]}"
        if field.startswith("band "):
            return f"low_{filled[int(field.removeprefix('band ')) - 1]}"
        return "low_1" if field == "bands" else super().box_of(field)

    def definition(self) -> dict[str, Any]:
        names = ("atmosphere", "covers_from", "reseats_from")
        more = {name: self.cleaned_data[name] for name in names if self.cleaned_data[name]}
        bands = [band for n in self.numbers if (band := self._band(n))]
        return {"basis": self.cleaned_data["basis"], **more, "bands": bands}

    def _band(self, number: int) -> dict[str, str]:
        typed = {edge: self.cleaned_data.get(f"{edge}_{number}", "") for edge in EDGES}
        said = {edge: value for edge, value in typed.items() if value}
        return said if set(said) - {"system"} else {}

    def band(self) -> ToleranceBand:
        return ToleranceBand(definition=self.definition(), **self.sourced())


def _edge(edge: str, *, is_needed: bool) -> forms.Field:
    if edge == "system":
        return forms.ChoiceField(label=LABELS[edge], choices=UNITS, required=False)
    return forms.CharField(
        label=LABELS[edge],
        max_length=40,
        required=is_needed and edge in ("low", "high"),
        help_text=HELP[edge] if is_needed else "",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


def _typed(old: ToleranceBand | None) -> dict[str, Any]:
    """What stands in the boxes at first: the old tolerance's own."""
    if old is None:
        return {}
    typed = {name: value for name, value in old.definition.items() if name != "bands"}
    for number, band in enumerate(old.definition["bands"], 1):
        typed |= {f"{edge}_{number}": band.get(edge, "") for edge in EDGES}
    return typed
