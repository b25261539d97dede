"""Signing in and out, the first page of each role, and who holds which role where."""

import json

from django.contrib import messages
from django.contrib.auth.views import LoginView, LogoutView
from django.core.exceptions import PermissionDenied
from django.db.models import Q
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from fleet import clock, permissions
from fleet.actions.people import (
    NOBODY,
    add_person,
    give_role,
    set_active,
    set_first_password,
    take_role,
)
from fleet.faults import Refused
from fleet.forms import PasswordForm, PersonForm, RoleForm
from fleet.models import Membership, Site, User
from fleet.views.guard import kept_form, needs, require

HOMES = {
    permissions.PLANNER: "due_list",
    permissions.MECHANIC: "bench",
    permissions.ENGINEER: "settings_review",
    permissions.AUDITOR: "compliance_list",
    permissions.ADMINISTRATOR: "people",
}


class SignIn(LoginView):
    """The sign-in page; and, for whoever was signed out while typing, what they typed."""

    template_name = "fleet/sign_in.html"
    redirect_authenticated_user = True

    def form_valid(self, form):
        response = super().form_valid(form)
        return self._kept() or response

    def form_invalid(self, form):
        return self._kept(form) or super().form_invalid(form)

    def _kept(self, form=None):
        path = self.request.POST.get("kept_path", "")
        if not path.startswith("/") or not url_has_allowed_host_and_scheme(path, None):
            return None
        try:
            kept = [
                (str(name), str(value)) for name, value in json.loads(self.request.POST["kept"])
            ]
        except (KeyError, TypeError, ValueError):
            return None
        return kept_form(self.request, kept, path, form, status=200)


sign_in = SignIn.as_view()
sign_out = LogoutView.as_view()


@needs(permissions.READ)
def home(request):
    """The page that answers this role's first question."""
    return redirect(HOMES[request.user.main_role()])


@needs(permissions.MANAGE_PEOPLE)
def people(request):
    """Who may do what at the sites this administrator keeps."""
    sites = _kept_sites(request.user)
    form = PersonForm(request.POST or None, sites=sites)
    if request.method == "POST" and form.is_valid():
        values = form.cleaned_data
        require(request.user, permissions.MANAGE_PEOPLE, values["site"])
        person = add_person(
            username=values["username"],
            name=values["name"],
            password=values["password"],
            site=next(site for site in sites if site.pk == values["site"]),
            role=values["role"],
            by=request.user,
            at=clock.now(),
        )
        messages.success(request, f"{person} can sign in.")
        return redirect("people")
    context = {
        "form": form,
        "rows": _rows(request.user, sites),
        "sites": sites,
        "roles": permissions.ROLES,
        "role_form": RoleForm(sites=sites),
    }
    status = 422 if form.is_bound else 200
    return render(request, "fleet/people.html", context, status=status)


def _kept_sites(user: User) -> list[Site]:
    sites = Site.objects.visible_to(user).order_by("name")
    return [site for site in sites if user.may(permissions.MANAGE_PEOPLE, site.pk)]


def _rows(user: User, sites: list[Site]) -> list[dict]:
    """People with a role at these sites, and those without any role (named in old records)."""
    kept = {site.pk for site in sites}
    people_ = User.objects.exclude(name__in=NOBODY).prefetch_related("memberships__site")
    rows = []
    for person in people_.order_by("-is_active", "name"):
        held = list(person.memberships.all())
        here = [membership for membership in held if membership.site_id in kept]
        if here or not held:
            rows.append({"person": person, "held": here, "is_mine": _is_mine(held, kept)})
    return rows


def _is_mine(held: list[Membership], kept: set[int]) -> bool:
    """Is this person's sign-in this administrator's to change? Not while they serve elsewhere."""
    return all(membership.site_id in kept for membership in held)


def _person(request, pk: int) -> User:
    """404 outside these sites; 403 where the person also serves at another."""
    person = _seen_person(request, pk)
    kept = {site.pk for site in _kept_sites(request.user)}
    if not _is_mine(list(person.memberships.all()), kept):
        raise PermissionDenied
    return person


def _seen_person(request, pk: int) -> User:
    """Somebody with a role at these sites, or with none anywhere."""
    seen = Q(memberships__site__in=_kept_sites(request.user)) | Q(memberships=None)
    people_ = User.objects.filter(seen).exclude(name__in=NOBODY)
    return get_object_or_404(people_.distinct(), pk=pk)


@needs(permissions.MANAGE_PEOPLE)
@require_POST
def role_give(request, pk):
    person = _seen_person(request, pk)
    form = RoleForm(request.POST, sites=_kept_sites(request.user))
    if not form.is_valid():
        messages.error(request, "Nothing was changed: choose a site and a role.")
        return redirect("people")
    require(request.user, permissions.MANAGE_PEOPLE, form.cleaned_data["site"])
    site = Site.objects.get(pk=form.cleaned_data["site"])
    membership = give_role(person, site, form.cleaned_data["role"], by=request.user, at=clock.now())
    messages.success(request, f"{membership}.")
    return redirect("people")


@needs(permissions.MANAGE_PEOPLE)
@require_POST
def role_take(request, pk):
    rows = Membership.objects.visible_to(request.user).select_related("user", "site")
    membership = get_object_or_404(rows, pk=pk)
    require(request.user, permissions.MANAGE_PEOPLE, membership.site_id)
    words = str(membership)
    return _done(request, lambda: take_role(membership, by=request.user, at=clock.now()), words)


@needs(permissions.MANAGE_PEOPLE)
@require_POST
def person_active(request, pk):
    person, is_active = _person(request, pk), request.POST.get("active") == "yes"
    words = f"{person} can{'' if is_active else 'not'} sign in"
    return _done(
        request, lambda: set_active(person, is_active, by=request.user, at=clock.now()), words
    )


def _done(request, act, words: str):
    """Do it, and say so; or say why it was refused."""
    try:
        act()
    except Refused as refused:
        for fault in refused.faults:
            messages.error(request, f"Nothing was changed: {fault.expected}")
    else:
        messages.success(request, f"Done: {words}.")
    return redirect("people")


@needs(permissions.MANAGE_PEOPLE)
def person_password(request, pk):
    """A first password, told in person; it replaces the one there was."""
    person = _person(request, pk)
    form = PasswordForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        password = form.cleaned_data["password"]
        set_first_password(person, password, by=request.user, at=clock.now())
        messages.success(request, f"{person} can sign in as {person.username}.")
        return redirect("people")
    status = 422 if form.is_bound else 200
    return render(request, "fleet/password.html", {"form": form, "person": person}, status=status)
