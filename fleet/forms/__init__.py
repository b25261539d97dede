"""What people fill in."""

from fleet.forms.days import FIRST_YEAR, LAST_YEAR, Day
from fleet.forms.outages import OutageForm
from fleet.forms.people import PasswordForm, PersonForm, RoleForm

__all__ = ["FIRST_YEAR", "LAST_YEAR", "Day", "OutageForm", "PasswordForm", "PersonForm", "RoleForm"]
