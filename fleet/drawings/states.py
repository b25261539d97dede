"""States as the reader meets them: a word, a tone and a shape, bound in one row each.

The shape alone tells the states apart; colour (the tone's class) only repeats it.
"""

from typing import NamedTuple

RING = '<circle cx="6" cy="6" r="4.6" fill="none" stroke="currentColor" stroke-width="2"/>'
DOT = '<circle cx="6" cy="6" r="5" fill="currentColor"/>'
HALF = RING + '<path d="M6 1.4a4.6 4.6 0 0 1 0 9.2z" fill="currentColor"/>'
DIAMOND = '<path d="M6 .8 11.2 6 6 11.2.8 6z" fill="none" stroke="currentColor" stroke-width="2"/>'
UP = '<path d="M6 .5 12 11.5H0z" fill="currentColor"/>'
DOWN = '<path d="M6 11.5 12 .5H0z" fill="currentColor"/>'
UP_OPEN = '<path d="M6 1.8 11 10.7H1z" fill="none" stroke="currentColor" stroke-width="2"/>'
CROSS = '<path d="M1.5 1.5l9 9M10.5 1.5l-9 9" stroke="currentColor" stroke-width="2.2"/>'
SQUARE = '<path d="M1.5 1.5h9v9h-9z" fill="none" stroke="currentColor" stroke-width="2"/>'
DASH = '<path d="M1 6h10" stroke="currentColor" stroke-width="2.2"/>'
UNEQUAL = '<path d="M1 4h10M1 8h10M9 .5 3 11.5" stroke="currentColor" stroke-width="2"/>'
CUT = '<path d="M2 12 5 0M7 12 10 0" stroke="currentColor" stroke-width="2"/>'
LOCK = (
    '<path d="M1.5 5.5h9V12h-9z" fill="currentColor"/>'
    '<path d="M3.5 5.5V3.4a2.5 2.5 0 0 1 5 0v2.1" fill="none" stroke="currentColor" '
    'stroke-width="1.8"/>'
)
LATE, SOON, GOOD, NONE = "late", "soon", "good", "none"


class State(NamedTuple):
    words: str
    tone: str
    shape: str


STATES: dict[str, State] = {
    # what is owed
    "overdue": State("overdue", LATE, UP),
    "overdue_deferred": State("past its date, deferred", LATE, UP_OPEN),
    "no_record": State("no record", LATE, CROSS),
    "no_device": State("no device fitted", SOON, DASH),
    "no_obligation": State("nothing owed is listed", SOON, SQUARE),
    "interval_not_set": State("interval not set", SOON, SQUARE),
    "due_soon": State("due soon", SOON, DIAMOND),
    "compliant": State("compliant", GOOD, RING),
    "not_required": State("not required", NONE, DASH),
    # where leave to pass a due date stands: never green
    "asked": State("waits for an answer", SOON, HALF),
    "in_force": State("in force", SOON, UP_OPEN),
    "expired": State("expired", LATE, UP),
    "served": State("no longer needed", NONE, DASH),
    "refused": State("refused", NONE, CROSS),
    # what was found
    "in": State("in tolerance", GOOD, RING),
    "high": State("high", LATE, UP),
    "low": State("low", LATE, DOWN),
    "equal": State("equal", GOOD, RING),
    "off": State("off", LATE, UNEQUAL),
    "not_comparable": State("not comparable", SOON, CUT),
    "missing": State("not recorded", LATE, CROSS),
    "unread": State("not read yet", SOON, DASH),
    "in_limit": State("within its limit", GOOD, RING),
    "over_limit": State("over its limit", LATE, UP),
    "under_limit": State("under its limit", LATE, DOWN),
    # what a device's record shows
    "out_of_tolerance": State("out of tolerance", LATE, UP),
    "moved_in_service": State("moved in service", LATE, UP_OPEN),
    "sticking": State("sticking", LATE, LOCK),
    "implausible": State("implausible", SOON, CROSS),
    "reset_repeatedly": State("reset repeatedly", SOON, HALF),
    "record_missing": State("record missing", SOON, SQUARE),
    "datum_changed": State("datum changed", SOON, CUT),
    "trending": State("trending", LATE, UP_OPEN),
    "resets_above_fleet": State("reset more than the fleet", SOON, HALF),
    "common_cause": State("common cause", SOON, DIAMOND),
    "nothing_flagged": State("nothing flagged", NONE, DASH),
    # where a record, a job or an outage stands
    "open": State("open", SOON, HALF),
    "to_verify": State("waits for a second person", SOON, DIAMOND),
    "verified": State("verified and locked", GOOD, LOCK),
    "proposed": State("proposed", SOON, HALF),
    "plan_in_force": State("in force", GOOD, RING),
    "replaced": State("replaced", NONE, DASH),
    "working": State("being worked out", SOON, DIAMOND),
    # where a plan puts a line
    "placed": State("in an outage", GOOD, RING),
    "online": State("on stream", GOOD, HALF),
    "late": State("late, inside its deferral", LATE, UP_OPEN),
    "no_opportunity": State("no opportunity", LATE, CROSS),
    "draft": State("draft", NONE, SQUARE),
    "planned": State("planned", NONE, RING),
    "under_way": State("under way", SOON, HALF),
    "done": State("done", GOOD, DOT),
    "cancelled": State("cancelled", NONE, CROSS),
    "over_offer": State("over what is offered", LATE, UP),
    # where a rule comes from
    "checked": State("checked against a copy", GOOD, RING),
    "from_memory": State("from memory", SOON, SQUARE),
    # what a load says
    "fault": State("fault", LATE, UP),
    "finding": State("finding", SOON, DIAMOND),
    "note": State("note", NONE, DASH),
}


def state_of(status: str) -> State:
    """The row for a status; one without a row shows its own word and a dash, never a blank."""
    return STATES.get(status) or State(status.replace("_", " "), NONE, DASH)
