"""Sharing spares out: against SciPy's maximum bipartite matching, and by hand."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_bipartite_matching

from fleet.calc.spares import shared_out

WANTED = st.lists(st.lists(st.integers(0, 7), max_size=5, unique=True), max_size=9)


@given(WANTED)
def test_as_many_are_served_as_can_be(rows):
    wanted = {f"visit {n}": row for n, row in enumerate(rows)}
    found = shared_out(wanted)
    assert len(set(found.values())) == len(found)
    assert all(spare in wanted[visit] for visit, spare in found.items())
    if rows:
        graph = np.zeros((len(rows), 8), dtype=int)
        for number, row in enumerate(rows):
            graph[number, row] = 1
        matched = maximum_bipartite_matching(csr_matrix(graph), perm_type="column")
        assert len(found) == int((matched >= 0).sum())


@given(WANTED)
def test_an_earlier_visit_never_gives_way_to_a_later_one(rows):
    wanted = dict(enumerate(rows))
    served = set(shared_out(wanted))
    for upto in range(len(rows)):
        part = {n: rows[n] for n in range(upto + 1)}
        assert set(shared_out(part)) == {n for n in served if n <= upto}


def test_the_best_is_taken_where_nobody_else_needs_it():
    assert shared_out({"A": ["old", "new"]}) == {"A": "old"}


def test_one_gives_way_to_another_that_has_no_choice():
    assert shared_out({"A": ["x", "y"], "B": ["x"]}) == {"A": "y", "B": "x"}


def test_a_long_chain_is_followed():
    chain = {n: [n, n + 1] for n in range(3000)}
    assert len(shared_out(chain | {"last": [0]})) == 3001
