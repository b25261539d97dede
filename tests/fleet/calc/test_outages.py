"""The planner against every plan there is, on problems small enough to try them all."""

from dataclasses import replace
from random import Random

import pytest

from fleet.calc.outages import Conflicting, conflicts, propose
from tests.fleet.calc.planned import a_problem, best, is_possible, values


@pytest.mark.parametrize("first", range(0, 400, 50))
def test_no_plan_is_better_than_the_proposed_one(first):
    for seed in range(first, first + 50):
        problem = a_problem(seed)
        if conflicts(problem):
            assert best(problem) is None, seed
            continue
        proposal = propose(problem)
        assert is_possible(problem, proposal.placed), seed
        assert values(problem, proposal.placed) == best(problem), seed
        assert proposal.status == "optimal", seed


@pytest.mark.parametrize("seed", range(30))
def test_each_goal_says_what_the_plan_gives_and_meets_its_bound(seed):
    problem = replace(a_problem(seed), pins={})
    proposal = propose(problem)
    *sums, level = values(problem, proposal.placed)
    assert [goal.value for goal in proposal.goals[:-1]] == sums
    assert float(proposal.goals[-1].value) == pytest.approx(float(level), abs=5e-5)
    assert all(goal.is_proved and goal.bound == goal.value for goal in proposal.goals)


@pytest.mark.parametrize("seed", range(30))
def test_the_order_of_typing_changes_nothing(seed):
    problem = replace(a_problem(seed), pins={})
    rng = Random(seed)
    shuffled = replace(
        problem,
        slots=tuple(rng.sample(problem.slots, len(problem.slots))),
        visits=tuple(rng.sample(problem.visits, len(problem.visits))),
        rooms=tuple(rng.sample(problem.rooms, len(problem.rooms))),
    )
    one, other, again = propose(problem), propose(shuffled), propose(problem)
    assert one.placed == other.placed == again.placed
    assert one.goals == other.goals and one.prices == other.prices


def test_conflicting_pins_are_refused():
    for seed in range(100):
        problem = a_problem(seed)
        if conflicts(problem):
            with pytest.raises(Conflicting):
                propose(problem)
