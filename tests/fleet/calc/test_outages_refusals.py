"""What the planner refuses, what stops it, and what it says of both."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest

from fleet.calc.outages import (
    Conflicting,
    Effort,
    Line,
    Problem,
    Room,
    Slot,
    Visit,
    conflicts,
    propose,
)
from tests.benchmarks.turnarounds import grow

FROM = date(2026, 1, 1)


def day(number):
    return FROM + timedelta(number)


def a_slot(name="S", on=10, hours="8"):
    return Slot(name, day(on), None if hours is None else Decimal(hours))


def a_visit(name="V", due=20, hours="2", slots=("S",), until=None, lines=None):
    own = lines or (Line(f"{name}/1", day(due), until and day(until)),)
    return Visit(name, own, Decimal(hours), slots)


def a_problem(*visits, slots=None, **more):
    return Problem(FROM, slots or (a_slot(),), visits or (a_visit(),), **more)


@pytest.mark.parametrize(
    ("problem", "named"),
    [
        (a_problem(slots=(a_slot(hours="0"),)), "'S' offers 0 hours"),
        (a_problem(slots=(a_slot(hours="NaN"),)), "'S' offers NaN hours"),
        (a_problem(slots=(a_slot(), a_slot())), "slot 'S' is given twice"),
        (a_problem(a_visit(), a_visit()), "visit 'V' is given twice"),
        (a_problem(a_visit(hours="-1")), "'V' takes -1 hours"),
        (a_problem(a_visit(slots=("S", "Q"))), "'V' names slot 'Q'"),
        (a_problem(a_visit(lines=(Line("L", None), Line("L", None)))), "line 'L' is given twice"),
        (a_problem(Visit("V", (), Decimal(1), ("S",))), "'V' serves no line"),
        (a_problem(pins={"V": "Q"}), "the pin of visit 'V' names slot 'Q'"),
        (a_problem(pins={"W": "S"}), "a pin names visit 'W'"),
        (a_problem(rooms=(Room("Q", {}, Fraction(1)),)), "a room names slot 'Q'"),
        (a_problem(rooms=(Room("S", {"W": Fraction(1)}, Fraction(1)),)), "names visit 'W'"),
    ],
)
def test_bad_input_is_named(problem, named):
    with pytest.raises(ValueError, match=named):
        propose(problem)


@pytest.mark.parametrize(
    ("problem", "words"),
    [
        (a_problem(a_visit(slots=()), pins={"V": "S"}), "V is pinned to S, which is not one of"),
        (a_problem(pins={"V": "S"}, bars=frozenset({("V", "S")})), "pinned to S and barred from"),
        (
            a_problem(a_visit(due=5), pins={"V": "S"}),
            "V is pinned to S on 2026-01-11, past its due date 2026-01-06, with no deferral",
        ),
        (
            a_problem(a_visit(due=5, until=8), pins={"V": "S"}),
            "past its due date 2026-01-06, and past its deferral until 2026-01-09",
        ),
        (
            a_problem(
                a_visit("A", hours="0.1"),
                a_visit("B", hours="0.2"),
                slots=(a_slot(hours="0.29"),),
                pins={"A": "S", "B": "S"},
            ),
            r"S offers 0.29 h; pinned to it: 0.3 h \(A, B\)",
        ),
        (
            a_problem(
                a_visit("A"),
                a_visit("B"),
                pins={"A": "S", "B": "S"},
                rooms=(Room("S", {"A": Fraction(1), "B": Fraction(1)}, Fraction(1)),),
            ),
            r"work pinned to S takes 2 where 1 can be spared \(A, B\)",
        ),
    ],
)
def test_conflicting_pins_are_explained(problem, words):
    with pytest.raises(Conflicting, match=words):
        propose(problem)
    assert len(conflicts(problem)) == 1


def test_hours_are_exact_to_the_last_tenth():
    """0.1 + 0.2 is 0.30000000000000004 in floating point, and fits 0.3 all the same."""
    visits = (a_visit("A", hours="0.1"), a_visit("B", hours="0.2"))
    assert propose(a_problem(*visits, slots=(a_slot(hours="0.3"),))).placed == {"A": "S", "B": "S"}
    tight = propose(a_problem(*visits, slots=(a_slot(hours="0.2999999999999"),)))
    assert tight.goal("unplaced").value == 1 and tight.status == "optimal"


def test_a_plan_stopped_by_time_says_so_and_is_possible_still():
    plant = grow(60, 4, seed=2)
    proposal = propose(plant, Effort(seconds=0))
    assert proposal.status == "stopped" and proposal.stopped_by_time
    for slot in plant.slots:
        used = sum(v.hours for v in plant.visits if proposal.placed[v.id] == slot.id)
        assert used <= slot.hours
    assert all(goal.bound <= goal.value for goal in proposal.goals)


class Cancelled(Exception):
    pass


@pytest.mark.parametrize("calls", [1, 3])
def test_progress_that_raises_leaves_at_once(calls):
    told = []

    def progress(doing, done, total):
        told.append((doing, done, total))
        if len(told) == calls:
            raise Cancelled

    with pytest.raises(Cancelled):
        propose(grow(60, 4, seed=2), progress=progress)
    assert len(told) == calls
