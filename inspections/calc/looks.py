"""What is looked at when a new device arrives, and the lines of the record that say it.

A figure off its nameplate is a measured line of the part "nameplate"; how it came through
transport is a line of the part it is about.
"""

from dataclasses import dataclass

NAMEPLATE = "nameplate"
NOT_READ = "not read"
SET = "set pressure"
FIGURES = {SET: "set_read"} | {name: f"{name}_read" for name in ("inlet", "outlet", "orifice")}


@dataclass(frozen=True)
class Look:
    """One thing looked at. good, bad: what is seen, as the record says it."""

    field: str
    part: str
    label: str
    good: str
    bad: str


LOOKS = (
    Look("transport", "outside", "Damage in transport", "no damage in transport",
         "damaged in transport"),
    Look("openings", "openings", "Inlet and outlet", "protected", "open or unprotected"),
)  # fmt: skip


def same_size(typed: str, known: str) -> bool:
    """Sizes and letters are typed in many ways: blanks and case say nothing."""
    return "".join(typed.split()).casefold() == "".join(known.split()).casefold()
