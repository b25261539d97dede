"""The search for large plants, made to answer small problems where every plan can be tried."""

from dataclasses import replace
from random import Random

import pytest

from fleet.calc.outages import Effort, conflicts, propose
from fleet.calc.planning import proposing
from tests.benchmarks.turnarounds import grow
from tests.fleet.calc.planned import a_problem, best, is_possible, values

SMALL_EFFORT = Effort(rounds=4)


@pytest.mark.parametrize("first", range(0, 200, 50))
def test_its_plans_are_possible_and_its_bounds_hold(monkeypatch, first):
    monkeypatch.setattr(proposing, "SMALL", -1)
    met = 0
    for seed in range(first, first + 50):
        problem = a_problem(seed)
        if conflicts(problem):
            continue
        proposal, right = propose(problem, SMALL_EFFORT), best(problem)
        assert is_possible(problem, proposal.placed), seed
        assert proposal.goals[0].bound <= right[0] <= proposal.goals[0].value, seed
        for goal, exact in zip(proposal.goals, right, strict=True):
            if not goal.is_proved:
                assert goal.bound <= float(exact) + 5e-5, (seed, goal)  # rounded to four places
                break
            met += 1
            assert float(goal.value) == pytest.approx(float(exact), abs=5e-5), (seed, goal)
    assert met > 100


@pytest.fixture
def plant(monkeypatch):
    monkeypatch.setattr(proposing, "SMALL", -1)
    return grow(300, 8, seed=5, is_roomy=True)


def by_hand(problem):
    """Earliest due first, each into the last outage in time that still fits it."""
    slots = sorted(problem.slots, key=lambda slot: slot.planned_on)
    left, placed = {slot.id: slot.hours for slot in slots}, {}
    for visit in sorted(problem.visits, key=lambda visit: visit.lines[0].due_on):
        due = visit.lines[0].due_on
        fits = [
            slot.id
            for slot in slots
            if slot.id in visit.slots and slot.planned_on <= due and left[slot.id] >= visit.hours
        ]
        placed[visit.id] = fits[-1] if fits else None
        if fits:
            left[fits[-1]] -= visit.hours
    return placed


def test_it_is_never_worse_than_earliest_due_first(plant):
    proposal = propose(plant, SMALL_EFFORT)
    assert is_possible(plant, proposal.placed)
    assert values(plant, proposal.placed) < values(plant, by_hand(plant))
    assert [goal.value for goal in proposal.goals[:-1]] == list(values(plant, proposal.placed)[:-1])
    assert all(goal.bound <= goal.value for goal in proposal.goals)


def test_the_same_effort_gives_the_same_answer_in_any_order(plant):
    rng = Random(3)
    shuffled = replace(
        plant,
        slots=tuple(rng.sample(plant.slots, len(plant.slots))),
        visits=tuple(rng.sample(plant.visits, len(plant.visits))),
    )
    one, other = propose(plant, SMALL_EFFORT), propose(shuffled, SMALL_EFFORT)
    assert one.placed == other.placed and one.goals == other.goals
    assert one.prices == other.prices and (one.rounds, one.nodes) == (other.rounds, other.nodes)
