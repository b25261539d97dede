"""The form that sends a workbook."""

from pathlib import Path

from django import forms
from django.conf import settings

from fleet import permissions
from fleet.models import Site

ENDINGS = (".xlsx", ".zip", ".csv")


class UploadForm(forms.Form):
    site = forms.ModelChoiceField(
        Site.objects.none(), help_text="Rows of another site are refused."
    )
    workbook = forms.FileField(
        help_text="An .xlsx, a .zip of .csv files, or one .csv; at most 50 MB.",
        widget=forms.ClearableFileInput(attrs={"accept": ",".join(ENDINGS)}),
    )
    decimal_mark = forms.ChoiceField(
        label="A comma in a number",
        choices=[
            ("", "is refused where it could mean two things"),
            (",", "is the decimal mark"),
            (".", "is a thousands mark"),
        ],
        required=False,
    )
    date_order = forms.ChoiceField(
        label="A date such as 03/04/2025",
        choices=[
            ("", "is refused"),
            ("DMY", "is day, month, year"),
            ("MDY", "is month, day, year"),
        ],
        required=False,
    )
    leave_unverified = forms.BooleanField(
        label="Leave records without a verifier open",
        required=False,
        help_text="Otherwise you accept them by name, and they count.",
    )

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, **kwargs)
        mine = [pk for pk in user.site_ids() if user.may(permissions.LOAD_WORKBOOK, pk)]
        self.fields["site"].queryset = Site.objects.filter(pk__in=mine).order_by("name")
        if len(mine) == 1:
            self.fields["site"].initial = mine[0]

    def clean_workbook(self):
        file = self.cleaned_data["workbook"]
        if file.size > settings.UPLOAD_LIMIT_BYTES:
            limit = settings.UPLOAD_LIMIT_BYTES // 1024**2
            raise forms.ValidationError(
                f"{file.name} has {file.size / 1024**2:.0f} MB; at most {limit} MB are read."
                " Split it, or load it with the import_workbook command."
            )
        if Path(file.name).suffix.lower() not in ENDINGS:
            raise forms.ValidationError(
                f"{file.name} is of another type; expected one ending in {', '.join(ENDINGS)}."
            )
        return file

    def options(self):
        """How the load is to read, as arguments of `inspections.exchange.load`."""
        data = self.cleaned_data
        return {
            "decimal_mark": data["decimal_mark"] or None,
            "date_order": data["date_order"] or None,
            "leave_unverified": data["leave_unverified"],
        }
