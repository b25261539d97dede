"""What the workload ahead says in words."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

from fleet.calc.loads import Load
from fleet.drawings.axis import MONTHS
from fleet.reports.workload import Beside, SiteAhead
from fleet.reports.workload_facts import Known

LEFT_OUT = {
    "no_device": "with no device fitted",
    "no_obligation": "where nothing owed is listed",
    "interval_not_set": "whose interval is not set",
    "waiting": "that wait for something to happen",
}


def month_words(day: date) -> str:
    """`May 2029`."""
    return f"{MONTHS[day.month - 1]} {day.year}"


def hours_words(hours: Fraction) -> str:
    """`412 h`, `4.5 h`: half up, to a tenth below ten hours; nobody plans years to the minute."""
    parts = 10 if hours < 10 else 1
    rounded = Decimal((hours * parts + Fraction(1, 2)) // 1) / parts
    return f"{rounded.normalize():f} h"


def counted(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"


def load_words(load: Load) -> str:
    """`412 h at the bench, 61 visits; 9 jobs on stream, 12 h; 2 jobs without hours`."""
    parts = [f"{hours_words(load.hours)} at the bench"]
    if load.visits:
        parts[0] += f", {counted(load.visits, 'visit')}"
    if load.on_stream:
        said = f"{counted(load.on_stream, 'job')} on stream, {hours_words(load.on_stream_hours)}"
        parts.append(said)
    if load.missing:
        parts.append(f"{counted(load.missing, 'job')} without hours")
    return "; ".join(parts)


def offer_words(month: Beside) -> str:
    """What stands beside a month's hours; days nobody spoke of are said, never taken for nought."""
    offered = month.offered
    if offered.hours is None:
        return "nobody has said what the bench offers"
    said = f"{hours_words(offered.hours)} offered"
    if offered.unsaid_days:
        said += f", nothing said of {counted(offered.unsaid_days, 'day')}"
    return said


def beside_words(month: Beside) -> str:
    """A month of a whole site, as its link reads it aloud."""
    said = f"{month_words(month.first_on)}: {load_words(month.load)}; {offer_words(month)}"
    return f"{said}; over by {hours_words(month.over)}" if month.over else said


def heaviest_words(site: SiteAhead) -> str:
    """The sentence a planner reads first."""
    most = site.heaviest
    if most is None:
        return "No bench work with known hours falls in these years."
    said = f"The heaviest month is {month_words(most.first_on)}: {hours_words(most.load.hours)}"
    if most.offered.hours is None:
        return f"{said}; {offer_words(most)} then."
    said = f"{said} against {offer_words(most)}"
    return f"{said}: {hours_words(most.over)} too many." if most.over else f"{said}."


def bunching_words(site: SiteAhead) -> str:
    """What today's choices do to the years, beside work on its due dates and an even load."""
    exact = site.heaviest_on_due_dates
    if site.heaviest is None or exact is None:
        return ""
    return (
        f"Were each visit done exactly on its due date, the heaviest would be"
        f" {month_words(exact[0])} with {hours_words(exact[1])}. The same hours every month would"
        f" be {hours_words(site.even)} a month."
    )


def left_out_words(known: Known) -> list[str]:
    """What is not counted, and how much of it there is."""
    said = [
        f"{counted(number, 'line')} {LEFT_OUT.get(state, state.replace('_', ' '))}"
        for state, number in sorted(known.left_out.items())
    ]
    if known.once:
        said.append(
            f"what follows the next visit of {counted(known.once, 'line')} whose rule counts by a"
            " counter, by what happens, or by a decision not taken yet"
        )
    return said
