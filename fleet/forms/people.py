"""People, their passwords and their roles, as forms."""

from django import forms
from django.contrib.auth.password_validation import validate_password

from fleet import permissions
from fleet.models import Site, User


class PasswordForm(forms.Form):
    """A first password for somebody, typed twice."""

    use_required_attribute = False

    password = forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        strip=False,
        help_text="At least eight characters, not a common word. Tell them in person.",
    )
    again = forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        strip=False,
        label="The same again",
    )

    def clean_password(self) -> str:
        validate_password(self.cleaned_data["password"])
        return self.cleaned_data["password"]

    def clean(self) -> dict:
        cleaned = super().clean()
        if "password" in cleaned and cleaned["password"] != cleaned.get("again"):
            self.add_error("again", "The two are not the same.")
        return cleaned


class PersonForm(PasswordForm):
    """A new person, with a first role."""

    field_order = ("name", "username", "site", "role", "password", "again")

    name = forms.CharField(max_length=150, help_text="As it stands on records.")
    username = forms.CharField(max_length=150, label="Signs in as")
    site = forms.TypedChoiceField(coerce=int)
    role = forms.ChoiceField(choices=[(role, role) for role in permissions.ROLES])

    def __init__(self, data=None, *, sites: list[Site]) -> None:
        super().__init__(data)
        self.fields["site"].choices = [(site.pk, site.name) for site in sites]

    def clean_username(self) -> str:
        username = self.cleaned_data["username"]
        if User.objects.filter(username=username).exists():
            raise forms.ValidationError("Somebody signs in with this name.")
        return username

    def clean_name(self) -> str:
        name = self.cleaned_data["name"]
        if User.objects.filter(name__iexact=name).exists():
            raise forms.ValidationError(
                "Somebody has this name, perhaps from old records: give them a role in the list."
            )
        return name


class RoleForm(forms.Form):
    """One role at one site."""

    use_required_attribute = False

    site = forms.TypedChoiceField(coerce=int)
    role = forms.ChoiceField(choices=[(role, role) for role in permissions.ROLES])

    def __init__(self, data=None, *, sites: list[Site]) -> None:
        super().__init__(data)
        self.fields["site"].choices = [(site.pk, site.name) for site in sites]
