"""What a reader asks of the register."""

from dataclasses import dataclass

from django.db.models import Q


@dataclass(frozen=True)
class Asked:
    """What is wanted of a register list; empty means any."""

    site: int | None = None
    unit: int | None = None
    status: str = ""
    kind: str = ""
    fluid: str = ""
    find: str = ""
    place: str = ""  # devices: fitted or loose


def named(find: str, path: str = "") -> Q:
    """A device whose number or serial holds this text."""
    return Q(**{f"{path}number__icontains": find}) | Q(**{f"{path}serial__icontains": find})
