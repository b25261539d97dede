"""Which outage, or which week on stream, each job goes into: the best plan, proved and explained.

A *slot* is one place work can go; a *visit* one go at one position, serving one or more *lines* of
the plan. A slot serves a line in time when it is planned on or before its due date; late inside an
approved deferral, or on stream where the line is overdue already; a line without a record anywhere.

Goals, each solved after the other with the values before it held: fewest lines unplaced, and among
those fewest severe, then moderate; fewest days late; fewest days of good interval given up; fewest
days waited by lines without a record; fewest changes against the accepted plan; the fullest slot
least full, as a share of the hours it offers. Counts and days are whole numbers and hours exact:
the solver's floating point proposes, exact arithmetic decides.
"""

from fleet.calc.planning.conflicts import Conflict, Conflicting, conflicts
from fleet.calc.planning.facts import (
    FEASIBLE,
    MILD,
    MODERATE,
    OPTIMAL,
    SEVERE,
    STOPPED,
    Effort,
    Goal,
    Line,
    Problem,
    Proposal,
    Room,
    Slot,
    Visit,
)
from fleet.calc.planning.parts import (
    CHANGES,
    GIVEN_UP,
    LATE,
    LEVEL,
    UNPLACED,
    UNPLACED_MODERATE,
    UNPLACED_SEVERE,
    WAITED,
)
from fleet.calc.planning.proposing import propose
from fleet.calc.planning.pruning import choices
from fleet.calc.planning.spreading import Week, spread, weeks
from fleet.calc.planning.timing import Days, days, fits, in_time, serves

__all__ = [
    "CHANGES",
    "FEASIBLE",
    "GIVEN_UP",
    "LATE",
    "LEVEL",
    "MILD",
    "MODERATE",
    "OPTIMAL",
    "SEVERE",
    "STOPPED",
    "UNPLACED",
    "UNPLACED_MODERATE",
    "UNPLACED_SEVERE",
    "WAITED",
    "Conflict",
    "Conflicting",
    "Days",
    "Effort",
    "Goal",
    "Line",
    "Problem",
    "Proposal",
    "Room",
    "Slot",
    "Visit",
    "Week",
    "choices",
    "conflicts",
    "days",
    "fits",
    "in_time",
    "propose",
    "serves",
    "spread",
    "weeks",
]
