"""Rows for a planner: what keeps them all is covered; checked against every subset."""

from itertools import chain, combinations

from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.coverage import coverage
from fleet.calc.protection import duties
from fleet.calc.rooms import rooms
from tests.fleet.calc.protected import duty, joined, member


def keeps(found, out):
    return all(sum(row.amounts.get(key, 0) for key in out) <= row.room for row in found)


def subsets(keys):
    return chain.from_iterable(combinations(keys, size) for size in range(len(keys) + 1))


def test_one_of_a_changeover_at_a_time():
    one = duty(
        member("A", "12 kg/h", "10 kg/h"), member("B", "11 kg/h"),
        kind="changeover", roles="duty standby",
    )  # fmt: skip
    (row,) = rooms(one)
    assert (row.amounts, row.room) == ({"A": 1, "B": 1}, 1)


def test_those_that_share_have_the_room_above_what_is_required():
    members = member("A", "5 kg/h", "9 kg/h"), member("B", "4 kg/h"), member("C", "6 kg/h")
    (row,) = rooms(duty(*members, kind="multiple", roles="duty additional additional"))
    assert (row.amounts, row.room) == ({"A": 5, "B": 4, "C": 6}, 6)


def test_pounds_are_counted_in_kilograms():
    members = member("A", "5 kg/h", "5 kg/h"), member("B", "20 lb/h")
    (row,) = rooms(duty(*members, kind="multiple", roles="duty additional"))
    assert row.amounts["B"] * 100_000_000 == 20 * 45_359_237  # NIST SP 811: 0.45359237 kg a pound


def test_one_alone_has_none():
    (row,) = rooms(duty(member("A", "12 kg/h", "10 kg/h")))
    assert (row.amounts, row.room) == ({"A": 1}, 0)


RATED = st.sampled_from(["", "2 kg/h", "3 kg/h", "5 kg/h", "8 lb/h", "4 scfm"])
NEED = st.sampled_from(["", "", "2 kg/h", "4 kg/h", "7 kg/h"])
ROLE = st.sampled_from(["additional", "fire"])
ONE = st.tuples(RATED, NEED, ROLE, st.booleans(), st.sampled_from(["", "", "", "gone"]))


@given(st.lists(ONE, min_size=1, max_size=5), st.integers(0, 2))
def test_whatever_keeps_the_rows_is_covered(rows, changeovers):
    members = [
        member(f"P{n}", rated, need, is_idle=idle and n > 0, absent=absent, make=("M", "J"))
        for n, (rated, need, _, idle, absent) in enumerate(rows)
    ]
    tags = [one.position for one in members]
    arranged = [
        joined("changeover", **{tags[n]: "duty", tags[n + 1]: "standby"})
        for n in range(0, 2 * changeovers, 2)
        if n + 1 < len(tags)
    ]
    if len(tags) > 1:
        roles = {tag: row[2] for tag, row in zip(tags, rows, strict=True)} | {tags[0]: "duty"}
        arranged.append(joined("multiple", **roles))
    for one in duties(members, arranged):
        keys = [each.position for each in one.members]
        for out in subsets(keys):
            if out and keeps(rooms(one), out):
                assert coverage(one, out).kind == "covered", (one, out)
