"""Signing in and out, and the first page each role opens on."""

from django.contrib.auth.views import LoginView, LogoutView
from django.shortcuts import redirect

from fleet import permissions
from fleet.views.guard import needs

HOMES = {
    permissions.PLANNER: "due_list",
    permissions.MECHANIC: "bench",
    permissions.ENGINEER: "settings_review",
    permissions.AUDITOR: "compliance_list",
    permissions.ADMINISTRATOR: "people",
}

sign_in = LoginView.as_view(template_name="fleet/sign_in.html", redirect_authenticated_user=True)
sign_out = LogoutView.as_view()


@needs(permissions.READ)
def home(request):
    """The page that answers this role's first question."""
    return redirect(HOMES[request.user.main_role()])
