"""What one record, as the device came, gives cause to propose about its interval."""

from dataclasses import dataclass
from datetime import date

from fleet.calc.units import Quantity
from inspections.calc.verdicts import HIGH, LOW, Band, deviation_percent, round_half_away

AS_RECEIVED_FAILURE = "as_received_failure"
WAIVED_TEST = "waived_test"
REPEATED_FAILURE = "repeated_failure"
FAILURES = (AS_RECEIVED_FAILURE, REPEATED_FAILURE)
NO_LIFT, STUCK_OPEN = "no_lift", "stuck_open"
STUCK = (NO_LIFT, STUCK_OPEN)


@dataclass(frozen=True)
class AsFound:
    """One record as the device came: its first pop, or why there was none.

    pop: where it opened; where `no_lift`, a pressure at which it had not. verdict: in, high, low
    or undecided by the band in force that day, "" where none was. reference: the cold test
    pressure it is judged by.
    """

    ref: str
    on: date
    verdict: str = ""
    result: str = ""
    pop: Quantity | None = None
    no_lift: bool = False
    reference: Quantity | None = None
    band: Band | None = None
    waived: str = ""

    @property
    def is_failure(self) -> bool:
        """Outside the band, no lift, or stuck (API RP 576 6.2.9). A later pop erases nothing."""
        return self.verdict in (HIGH, LOW) or self.result in STUCK or self.no_lift

    @property
    def words(self) -> str:
        """`opened at 1123 psig, -4.43 %, below 1139.75 psig to 1210.25 psig`."""
        parts = [self._opened()]
        if self.pop is not None and self.reference is not None and self.reference.magnitude:
            rounded = round_half_away(deviation_percent(self.pop, self.reference), 2)
            parts.append(f"{'more than ' if self.no_lift else ''}{rounded:+} %")
        if self.band is not None:
            side = {HIGH: "above ", LOW: "below "}.get(self.verdict, "")
            parts.append(f"{side}{self.band.low} to {self.band.high}")
        return ", ".join(parts)

    def _opened(self) -> str:
        if self.no_lift or self.result == NO_LIFT:
            return f"no lift at {self.pop}" if self.pop is not None else "no lift"
        stuck = "stuck open" if self.result == STUCK_OPEN else ""
        opened = f"opened at {self.pop}" if self.pop is not None else ""
        return ", ".join(filter(None, [opened, stuck]))


@dataclass(frozen=True)
class Cause:
    """kind: one of the constants above; reason: a sentence without its full stop."""

    kind: str
    reason: str


def causes_of(found: AsFound, before: AsFound | None) -> list[Cause]:
    """What a record gives cause for. `before`: the as-found of this device at this position
    before it; two failures in a row are one cause, and the graver one."""
    causes = (
        [Cause(WAIVED_TEST, f"as-received test waived: {found.waived}")] if found.waived else []
    )
    if not found.is_failure:
        return causes
    said = found.words
    if before is not None and before.is_failure:
        again = f"{said}; the time before, {before.on} ({before.ref}), {before.words}"
        return [*causes, Cause(REPEATED_FAILURE, again)]
    return [*causes, Cause(AS_RECEIVED_FAILURE, said)]
