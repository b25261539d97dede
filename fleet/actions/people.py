"""Accounts: people named in old records, sign-ins, and the roles they hold."""

from collections.abc import Iterable
from datetime import datetime

from django.contrib.auth.hashers import UNUSABLE_PASSWORD_PREFIX

from fleet import audit, permissions
from fleet.faults import Fault, Refused
from fleet.models import Membership, Site, User

COMMAND_LINE = "command line"
NOBODY = (COMMAND_LINE, "not recorded")  # names on records that are nobody's sign-in


@audit.writing()
def people_named(names: Iterable[str], *, by: User, at: datetime) -> dict[str, User]:
    """Accounts by casefolded name. Who is known only by name becomes an inactive account."""
    wanted = {name.casefold(): name for name in reversed(list(names))}
    known = {person.name.casefold(): person for person in User.objects.all()}
    taken = set(User.objects.values_list("username", flat=True))
    fresh = []
    for key, name in wanted.items():
        if key not in known:
            username = _free(key, taken)
            taken.add(username)
            unusable = UNUSABLE_PASSWORD_PREFIX + username[:60]
            fresh.append(User(username=username, name=name, is_active=False, password=unusable))
    User.objects.bulk_create(fresh)
    audit.record((audit.change("person named", person) for person in fresh), by=by, at=at)
    known.update({person.name.casefold(): person for person in fresh})
    return {key: known[key] for key in wanted}


def _free(wanted: str, taken: set[str]) -> str:
    """A username nobody has: the name itself, numbered where somebody has it."""
    name, number = wanted, 1
    while name in taken:
        number += 1
        name = f"{wanted[:140]} {number}"
    return name


@audit.writing()
def command_line_user(*, at: datetime) -> User:
    """Who acts when a command names nobody: an account that nobody signs in with."""
    found = User.objects.filter(username=COMMAND_LINE).first()
    if found is None:
        found = User.objects.create_user(COMMAND_LINE, name=COMMAND_LINE, is_active=False)
        audit.record([audit.change("person named", found)], by=found, at=at)
    return found


@audit.writing()
def set_password(username: str, name: str, password: str, *, by: User, at: datetime) -> User:
    """An account that can sign in: a new one, or the one old records know by this name."""
    user = User.objects.filter(name__iexact=name).first() or User(name=name)
    user.username, user.is_active = username, True
    user.set_password(password)
    user.save()
    audit.record([audit.change("sign-in given", user)], by=by, at=at)
    return user


@audit.writing()
def give_role(user: User, site: Site, role: str, *, by: User, at: datetime) -> Membership:
    """One role at one site; held already, nothing changes."""
    membership, is_new = Membership.objects.get_or_create(user=user, site=site, role=role)
    if is_new:
        audit.record([audit.change("role given", membership)], by=by, at=at)
    return membership


@audit.writing()
def add_person(
    *, username: str, name: str, password: str, site: Site, role: str, by: User, at: datetime
) -> User:
    """A new person who can sign in, with a first role."""
    person = User.objects.create_user(username, password, name=name)
    audit.record([audit.change("person added", person)], by=by, at=at)
    give_role(person, site, role, by=by, at=at)
    return person


@audit.writing()
def take_role(membership: Membership, *, by: User, at: datetime) -> None:
    """Take a role away. Raises Refused for the last administrator of a site."""
    _leave_an_administrator([membership])
    gone = Membership(pk=membership.pk)
    membership.delete()
    change = audit.change("role taken", membership.user, gone=[gone])
    audit.record([change], by=by, at=at)


@audit.writing()
def set_active(person: User, is_active: bool, *, by: User, at: datetime) -> None:
    """Let a person sign in, or no longer. Raises Refused for the last administrator of a site."""
    if not is_active:
        _leave_an_administrator(person.memberships.filter(role=permissions.ADMINISTRATOR))
    person.is_active = is_active
    person.save()
    audit.record([audit.change("sign-in changed", person)], by=by, at=at)


@audit.writing()
def set_first_password(person: User, password: str, *, by: User, at: datetime) -> None:
    """A password told in person; whoever old records named can sign in with it."""
    person.set_password(password)
    person.is_active = True
    person.save()
    audit.record([audit.change("sign-in given", person)], by=by, at=at)


def _leave_an_administrator(memberships: Iterable[Membership]) -> None:
    """A site that nobody can administer is a door without a key."""
    for membership in memberships:
        if membership.role != permissions.ADMINISTRATOR:
            continue
        others = Membership.objects.filter(
            site=membership.site_id, role=permissions.ADMINISTRATOR, user__is_active=True
        ).exclude(user=membership.user_id)
        if not others.exists():
            expected = f"{membership.site} would be left without an administrator"
            raise Refused([Fault("role", str(membership), expected)])
