"""What is wrong with something somebody typed, said so that they can mend it."""

from collections.abc import Iterable
from dataclasses import dataclass

FAULT, FINDING, NOTE = "fault", "finding", "note"


@dataclass(frozen=True)
class Fault:
    """One thing wrong: where, what was typed, what was expected.

    `severity`: a fault stops the write, a finding opens a question on the record, a note is only
    said. `sheet` and `row` (1 = the header) are filled by the exchange; a form uses `field` alone.
    """

    field: str
    typed: str
    expected: str
    sheet: str = ""
    row: int | None = None
    severity: str = FAULT
    code: str = ""

    def __str__(self) -> str:
        place = ", ".join(
            part for part in (self.sheet, f"row {self.row}" if self.row else "", self.field) if part
        )
        typed = f" “{self.typed}”" if self.typed else ""
        return f"{place}:{typed} {self.expected}".strip(": ")


class Refused(Exception):
    """A write that was not done, with every reason why. Nothing of it was written."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = list(faults)
        super().__init__("; ".join(str(fault) for fault in self.faults))
