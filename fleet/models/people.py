"""Who signs: accounts, and the role each holds at a site."""

from functools import cached_property

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower

from fleet import permissions
from fleet.models.base import Keeping, SiteQuerySet


class UserManager(BaseUserManager):
    def create_user(self, username, password=None, *, name="", **extra):
        user = self.model(username=username, name=name or username, **extra)
        user.set_password(password)
        user.save(using=self._db)
        return user


class User(AbstractBaseUser):
    """A person. Those known only from old records are inactive and keep the name as typed."""

    keeping = Keeping.MUTABLE
    audit_leaves_out = ("password", "last_login")

    username = models.CharField(max_length=150, unique=True)
    name = models.CharField(max_length=150)
    is_active = models.BooleanField(default=True)

    objects = UserManager()
    USERNAME_FIELD = "username"

    class Meta:
        constraints = [
            models.UniqueConstraint(Lower("name"), name="two_people_never_share_one_name"),
        ]

    def __str__(self):
        return self.name

    @cached_property
    def roles_by_site(self) -> dict[int, set[str]]:
        """{site id: {role, ...}}, read once a request."""
        roles: dict[int, set[str]] = {}
        for site_id, role in self.memberships.values_list("site_id", "role"):
            roles.setdefault(site_id, set()).add(role)
        return roles

    def site_ids(self) -> list[int]:
        return sorted(self.roles_by_site) if self.is_active else []

    def may(self, right: str, site_id: int | None = None) -> bool:
        """Has this right at the site, or, with no site named, at any."""
        wanted = permissions.roles_with(right)
        if not self.is_active:
            return False
        if site_id is None:
            return any(roles & wanted for roles in self.roles_by_site.values())
        return bool(self.roles_by_site.get(site_id, set()) & wanted)

    def main_role(self) -> str:
        """The role the first page is chosen by."""
        held = set().union(*self.roles_by_site.values()) if self.roles_by_site else set()
        return next((role for role in permissions.ROLES if role in held), "")


class Membership(models.Model):
    """One role of one person at one site."""

    keeping = Keeping.MUTABLE
    site_path = "site"

    user = models.ForeignKey(User, models.CASCADE, related_name="memberships")
    site = models.ForeignKey("fleet.Site", models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=20, choices=[(r, r) for r in permissions.ROLES])

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["user", "site", "role"], name="a_role_is_held_once_at_a_site"
            ),
        ]

    def __str__(self):
        return f"{self.user}, {self.role} at {self.site}"
