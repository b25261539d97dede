"""A day, as a form asks for it."""

from datetime import date

from django import forms

FIRST_YEAR, LAST_YEAR = 1950, 2200


class Day(forms.DateField):
    """A day from a date box, of a year that a plant can have."""

    def __init__(self, **kwargs) -> None:
        kwargs.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        kwargs.setdefault("input_formats", ["%Y-%m-%d"])
        kwargs.setdefault("error_messages", {"invalid": "A day such as 2027-05-01 was expected."})
        super().__init__(**kwargs)

    def validate(self, value: date | None) -> None:
        super().validate(value)
        if value and not FIRST_YEAR <= value.year <= LAST_YEAR:
            raise forms.ValidationError(f"A year from {FIRST_YEAR} to {LAST_YEAR} was expected.")
