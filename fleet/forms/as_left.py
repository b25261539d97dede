"""What a site leaves its valves within: one tolerance of those known, or none."""

from collections.abc import Iterable

from django import forms

from fleet.models import Site
from fleet.reports.tolerances import ToleranceRow

NONE = "-"  # no id begins so


class AsLeftForm(forms.Form):
    """`code()` is the tolerance chosen, "" for none. Nothing is chosen for anybody."""

    tolerance = forms.ChoiceField(
        label="Its own tolerance",
        error_messages={"required": "Expected a tolerance, or “none of its own”."},
    )

    def __init__(self, data, *, site: Site, rows: Iterable[ToleranceRow]) -> None:
        named = site.as_left_tolerance
        chosen = {"tolerance": named.code if named else NONE}
        super().__init__(data, initial=chosen, auto_id=f"id_{site.pk}_%s")
        self.site = site
        choices = [(row.code, f"{row.code}: {row.words}") for row in rows]
        self.fields["tolerance"].choices = [(NONE, "none of its own"), *choices]

    def code(self) -> str:
        chosen = self.cleaned_data["tolerance"]
        return "" if chosen == NONE else chosen
