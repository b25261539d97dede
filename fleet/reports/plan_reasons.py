"""Why a line of a plan goes where it goes, in one sentence. Days are ISO 8601."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property

from fleet.calc.outages import Conflicting, Proposal
from fleet.models import Outage
from fleet.reports.due_lines import Line
from fleet.reports.plan_slots import SlotId, offered
from fleet.reports.plan_work import VisitId, Work
from fleet.reports.reasons import activity_words

NO_HOURS = "nobody has said how many bench hours it takes"


def days_words(days: int) -> str:
    return f"{days} day" if days == 1 else f"{days} days"


def hours_words(hours: Decimal) -> str:
    return f"{hours.normalize():f} h"


@dataclass(frozen=True)
class Reasons:
    """The sentences of one proposal."""

    work: Work
    proposal: Proposal

    def of_visit(self, key: VisitId, line: Line, hours: Decimal | None) -> str:
        slot = self.proposal.placed.get(key)
        if slot is None:
            words = self._unplaced(key, line)
        elif isinstance(slot, int):
            words = self._outage(key, line, self.work.outages[slot])
        else:
            words = self._week(line, slot)
        return words if hours is not None else f"{words}; {NO_HOURS}"

    def of_covered(self, activity: str) -> str:
        return f"done by the {activity_words(activity)} of the same visit"

    def of_in_place(self, line: Line) -> str:
        if line.due_on is None:
            return "needs no outage; nothing is on record"
        late = (self.work.from_on - line.due_on).days
        return (
            f"needs no outage; {days_words(late)} late already" if late > 0 else "needs no outage"
        )

    def _outage(self, key: VisitId, line: Line, outage: Outage) -> str:
        if placing := self.work.hand.pin_of(key[0], outage.pk):
            return f"pinned to {outage.name} by {placing.recorded_by}: {placing.words}"
        if line.due_on is None:
            return f"no record; {outage.name} is the first that can take it"
        ahead = (line.due_on - self.work.day_of(outage.pk)).days
        if ahead < 0:
            until = f"inside its deferral until {line.until}"
            return f"{outage.name} begins {days_words(-ahead)} after the due date, {until}"
        begins = f"{outage.name} begins {_before(ahead)}"
        later = self._later_in_time(key, line, outage)
        if not later:
            return f"{begins}, the last that serves it"
        return f"{begins}; later in time: {', '.join(later)}"

    def _later_in_time(self, key: VisitId, line: Line, outage: Outage) -> list[str]:
        """Outages in time that begin later, each with why it was not taken."""
        day = self.work.day_of(outage.pk)
        return [
            f"{other.name} ({self._why_not(key, other)})"
            for other in self.work.outages_at(line)
            if day < self.work.day_of(other.pk) <= line.due_on
        ]

    def _why_not(self, key: VisitId, outage: Outage) -> str:
        barred = self.work.hand.why_barred(key[0], outage)
        if barred:
            return barred
        room = offered(outage)
        if room is None:
            return "free, but goes with other work at this position"
        hours = self.work.hours_of(self.work.visits[key]) or Decimal()
        if room == 0:
            return "offers no bench hours"
        if hours > room:
            return f"offers {hours_words(room)}, and this takes {hours_words(hours)}"
        used = self._used[outage.pk]
        return f"{hours_words(used)} of {hours_words(room)} taken"

    @cached_property
    def _used(self) -> dict[SlotId, Decimal]:
        used: dict[SlotId, Decimal] = defaultdict(Decimal)
        for key, slot in self.proposal.placed.items():
            if slot is not None:
                used[slot] += self.work.hours_of(self.work.visits[key]) or Decimal()
        return used

    def _week(self, line: Line, day: date) -> str:
        held = self.work.on_stream.held[line.position].words
        words = f"on stream in the week of {day} ({held})"
        if line.due_on is not None and day > line.due_on:
            words += f", {days_words((day - line.due_on).days)} late"
        return words

    def _unplaced(self, key: VisitId, line: Line) -> str:
        serving = [o for o in self.work.outages_at(line) if self.work.serves(line, o.pk)]
        if serving:
            whys = ", ".join(f"{o.name} ({self._why_not(key, o)})" for o in serving)
            return f"no place left: {whys}"
        held = self.work.on_stream.held.get(line.position)
        on_stream = f"; not offered on stream: {held.words}" if held and not held.is_offered else ""
        return f"{self._none_in_time(line)}; {self._next(line)}{on_stream}"

    def _none_in_time(self, line: Line) -> str:
        if line.due_on is None:
            return "no record, and no outage of its unit is planned"
        if line.due_on < self.work.from_on:
            late = (self.work.from_on - line.due_on).days
            return f"was due on {line.due_on}, {days_words(late)} before this plan begins"
        return f"no outage of its unit begins on or before {line.due_on}"

    def _next(self, line: Line) -> str:
        following = next(iter(self.work.outages_at(line)), None)
        if following is None or line.due_on is None:
            return "no outage of its unit is planned in these years"
        late = (self.work.day_of(following.pk) - line.due_on).days
        return f"the next, {following.name}, begins {days_words(late)} late"


def conflict_words(work: Work, conflicting: Conflicting) -> list[str]:
    """Pins and bars that cannot all hold, in the words of the plant."""

    def visit(key: VisitId) -> str:
        return work.visits[key][0].tag

    def slot(pk: SlotId) -> str:
        return work.outages[pk].name if isinstance(pk, int) else f"the week of {pk}"

    return [conflict.words(visit, slot) for conflict in conflicting.conflicts]


def _before(days: int) -> str:
    return "on the due date" if days == 0 else f"{days_words(days)} before it is due"
