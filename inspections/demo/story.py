"""What a planted story is."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Story:
    """One thing worth finding: at which tag, on which device ("" where it is about neither)."""

    key: str
    tag: str
    device: str
    text: str
    where: str
