"""Leave to pass a due date: the last day each policy allows, and what would break it.

A deferral never moves a due date; it says until when passing it is permitted, by whose rule.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from typing import NamedTuple

from fleet.calc.durations import Duration

SIMPLE, ASSESSED = "simple", "assessed"
SINGLE_POSTPONEMENT, TEST_PERIOD = "single_postponement", "test_period"
HALF_YEAR, TWO_YEARS = Duration(6, 0, "P6M"), Duration(24, 0, "P2Y")
DOCUMENT, MEASURE, NOTICE = "document", "interim_measure", "notified_on"


class Policy(NamedTuple):
    """A way to give leave. allows: what the rule says; needs: what must be given with it."""

    name: str
    allows: str
    needs: tuple[str, ...]
    source: str


POLICIES = {
    SIMPLE: Policy(
        "a simple deferral",
        "The lesser of 10 % of the days from last to due and 6 months, once in a due cycle,"
        " recorded on or before the due date, with the consent of the inspector or engineer.",
        (),
        "API 510, 11th edition, 6.7, from memory",
    ),
    ASSESSED: Policy(
        "an assessed deferral",
        "As long as a documented risk assessment says, with an interim measure and a day on which"
        " it ends, recorded on or before the due date.",
        (DOCUMENT, MEASURE),
        "API 510, 11th edition, from memory",
    ),
    SINGLE_POSTPONEMENT: Policy(
        "a postponement",
        "To a later date agreed in writing, once for any one examination, of which the authority"
        " is notified before the due date.",
        (DOCUMENT, NOTICE),
        "UK PSSR 2000, regulation 9(7), from memory",
    ),
    TEST_PERIOD: Policy(
        "an extended test period",
        "25 % of the days of an interval under 2 years, 6 months of a longer one; not for repeated"
        " convenience.",
        (),
        "ASME OM Code Case OMN-20",
    ),
}


class Leave(NamedTuple):
    """A deferral of `due_on` until `until_on`, asked for or approved on a day."""

    policy: str
    due_on: date
    until_on: date
    on: date
    interim_measure: str = ""
    document: str = ""
    notified_on: date | None = None


class Term(NamedTuple):
    """Over [from_on, until_on) this was due on `due_on`, counted from `last_on`."""

    from_on: date
    until_on: date | None
    last_on: date
    due_on: date


class Limit(NamedTuple):
    """The last day a policy allows, and how it comes to it; None: it computes none."""

    until_on: date | None
    words: str


class Breach(NamedTuple):
    """What a deferral breaks: the field at fault and the rule's own words, as a sentence."""

    field: str
    code: str
    words: str


def limit(policy: str, last_on: date, due_on: date) -> Limit:
    """The last day a policy allows for what was last done and is due on these days.

    Sources: `POLICIES`. A limit that is the due date itself allows nothing.
    """
    days = (due_on - last_on).days
    if policy == SIMPLE:
        return _lesser_of_tenth_and_half_year(days, last_on, due_on)
    if policy == TEST_PERIOD:
        if due_on < TWO_YEARS.after(last_on):
            return _share(25, days, last_on, due_on)
        return Limit(HALF_YEAR.after(due_on), "6 months, for an interval of 2 years or more")
    words = {
        ASSESSED: "as the risk assessment says; no limit is computed",
        SINGLE_POSTPONEMENT: "as agreed in writing; no limit is computed",
    }
    return Limit(None, words[policy])


def _lesser_of_tenth_and_half_year(days: int, last_on: date, due_on: date) -> Limit:
    tenth, half_year = _share(10, days, last_on, due_on), HALF_YEAR.after(due_on)
    if tenth.until_on is not None and tenth.until_on <= half_year:
        return tenth
    return Limit(half_year, f"6 months, which is less than {tenth.words}")


def _share(percent: int, days: int, last_on: date, due_on: date) -> Limit:
    allowed = max(days, 0) * percent // 100
    plural = "" if allowed == 1 else "s"
    words = f"{percent} % of the {days} days since {last_on}, rounded down: {allowed} day{plural}"
    return Limit(due_on + timedelta(days=allowed), words)


def breaches(asked: Leave, terms: Sequence[Term], given: Iterable[Leave]) -> list[Breach]:
    """Everything a deferral breaks of its policy; empty where it keeps to it.

    terms: every due date this obligation has had, in order; given: its other deferrals. Only those
    given before this one count against it. What no term dates is not held to a computed limit.
    """
    before = [g for g in given if (g.on, g.due_on) < (asked.on, asked.due_on)]
    found = [*_of_days(asked, term_of(asked, terms)), *_of_papers(asked)]
    repeated = _repeats(asked, terms, before)
    return [*found, *([repeated] if repeated else [])]


def term_of(leave: Leave, terms: Sequence[Term]) -> Term | None:
    """The term whose due date it passes: the one that held when leave was given, else the last."""
    found = [term for term in terms if term.due_on == leave.due_on]
    held = [term for term in found if _holds(term, leave.on)]
    return next(reversed(held or found), None)


def _of_days(asked: Leave, term: Term | None) -> Iterator[Breach]:
    policy = POLICIES[asked.policy]
    if asked.until_on <= asked.due_on:
        words = f"a deferral ends on a day after the due date that it passes, {asked.due_on}"
        yield Breach("until_on", "ends_before_due", words)
    if asked.on > asked.due_on:
        words = f"{policy.name} is recorded on or before the due date that it passes,"
        yield _breach(asked, "on", "late_approval", f"{words} {asked.due_on}")
    latest = limit(asked.policy, term.last_on, term.due_on) if term else None
    if latest and latest.until_on is not None and asked.until_on > latest.until_on:
        words = f"{policy.name} of {asked.due_on} ends by {latest.until_on} at the latest:"
        yield _breach(asked, "until_on", "past_latest_day", f"{words} {latest.words}")


def _of_papers(asked: Leave) -> Iterator[Breach]:
    name, needs = POLICIES[asked.policy].name, POLICIES[asked.policy].needs
    if DOCUMENT in needs and not asked.document:
        paper = "risk assessment" if asked.policy == ASSESSED else "agreement in writing"
        yield _breach(asked, DOCUMENT, "document_missing", f"{name} names its {paper}")
    if MEASURE in needs and not asked.interim_measure:
        words = f"{name} says what makes it safe meanwhile: its interim measure"
        yield _breach(asked, MEASURE, "measure_missing", words)
    if NOTICE in needs and (asked.notified_on is None or asked.notified_on >= asked.due_on):
        words = f"the authority is notified of {name} before the due date, {asked.due_on}"
        yield _breach(asked, NOTICE, "notice_missing", words)


def _repeats(asked: Leave, terms: Sequence[Term], before: Sequence[Leave]) -> Breach | None:
    """The same leave given twice, where the policy gives it once."""
    alike = [leave for leave in before if leave.policy == asked.policy]
    if asked.policy == ASSESSED or not alike:
        return None
    since = _cycle_of(asked, terms)
    again = [leave for leave in alike if since and _cycle_of(leave, terms) == since]
    if asked.policy == TEST_PERIOD:
        last = _passed_before(since, terms)
        again += [leave for leave in alike if leave.due_on == last]
    if not again:
        return None
    first = f"{again[0].due_on} was deferred to {again[0].until_on} under it"
    words = {
        SIMPLE: f"a simple deferral is given once in a due cycle, and {first}",
        SINGLE_POSTPONEMENT: f"one postponement is made for any one examination, and {first}",
        TEST_PERIOD: f"a test period is not extended for repeated convenience, and {first}",
    }
    return _breach(asked, "policy", "repeated", words[asked.policy])


def _cycle_of(leave: Leave, terms: Sequence[Term]) -> date | None:
    """The day its due cycle counts from; a deferral of another day belongs to that day's cycle."""
    on = [term for term in terms if _holds(term, leave.due_on)]
    term = term_of(leave, terms) or (on[-1] if on else None)
    return term.last_on if term else None


def _passed_before(since: date | None, terms: Sequence[Term]) -> date | None:
    """The previous cycle's due date, if it was passed: it still held on the day after."""
    starts = [number for number, term in enumerate(terms) if term.last_on == since]
    if not starts or not starts[0]:
        return None
    last = terms[starts[0] - 1]
    return last.due_on if last.until_on and last.until_on > last.due_on else None


def _holds(term: Term, day: date) -> bool:
    return term.from_on <= day and (term.until_on is None or day < term.until_on)


def _breach(asked: Leave, field: str, code: str, words: str) -> Breach:
    return Breach(field, code, f"{words} ({POLICIES[asked.policy].source})")
