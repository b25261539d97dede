"""Failing together. Seven valves of one model all low in one outage: LER 388/2009-001."""

from datetime import date
from math import comb

import pytest

from inspections.calc.common_cause import (
    BENCH,
    CONVENTION,
    GAUGE,
    MODEL_IN_OUTAGE,
    Outcome,
    common_causes,
)

DAY = date(2024, 4, 1)


def pop(key, sign=0, on=DAY, **names):
    return Outcome(key, "set_pressure", on, sign, **names)


def test_seven_low_of_one_model_in_one_outage():
    sick = [pop(f"S{i}", -1, model="6R10", outage="2009") for i in range(7)]
    well = [pop(f"W{i}", -(i < 5), model=f"M{i % 10}", outage="2009") for i in range(93)]
    found = common_causes(sick + well, 0.02).found
    assert [one.group.names for one in found] == [("6R10", "2009")]
    cause = found[0]
    assert (cause.group.kind, cause.sign) == (MODEL_IN_OUTAGE, -1)
    assert (cause.failed, cause.of, cause.fleet_failed, cause.fleet_of) == (7, 7, 12, 100)
    assert cause.p == pytest.approx(comb(12, 7) / comb(100, 7))  # all seven from the twelve
    assert cause.keys == tuple(f"S{i}" for i in range(7))


def test_high_and_low_are_not_added_up():
    mixed = [pop(f"S{i}", 1 - 2 * (i % 2), model="6R10", outage="2009") for i in range(6)]
    well = [pop(f"W{i}", model=f"M{i % 10}", outage="2009") for i in range(94)]
    both = common_causes(mixed + well, 1).found
    assert {one.failed for one in both if one.group.names[0] == "6R10"} == {3}


@pytest.mark.parametrize(
    ("names", "kind", "group"),
    [
        ({"bench": "Bench 2"}, BENCH, ("Bench 2", "2024")),
        ({"gauge": "PG-17"}, GAUGE, ("PG-17", "2024")),
        ({"model": "M1", "datum": "ring touching"}, CONVENTION, ("M1", "ring touching")),
    ],
)
def test_every_kind_of_company(names, kind, group):
    others = {name: f"other {name}" for name in names}
    sick = [pop(i, 1, **names) for i in range(6)]
    well = [pop(100 + i, int(i == 0), **others) for i in range(60)]
    found = common_causes(sick + well, 0.02).found
    assert [(one.group.kind, one.group.names, one.failed) for one in found] == [(kind, group, 6)]


def test_what_the_record_does_not_name_belongs_to_no_group():
    assert common_causes([pop(i, 1) for i in range(20)], 1).p.tolist() == []
    assert common_causes([pop(i, 1, model="M1") for i in range(20)], 1).found == ()


def test_one_device_is_no_company():
    """Six bad pops of one device on one bench are one failure, and its last is the one counted."""
    alone = [pop("S", 1, date(2024, m, 1), bench="B1") for m in range(1, 7)]
    well = [pop(f"W{i}", bench="B2") for i in range(60)]
    asked = common_causes([*alone, *well], 0.5)
    assert asked.found == ()
    assert len(asked.p) == 2  # the bench of many, high and low


def test_the_last_outcome_of_a_device_in_a_group_is_the_one_counted():
    """Six that popped high in January and were found in their band in June fail no longer."""
    mended = [pop(f"S{i}", sign, date(2024, month, 1), bench="B1")
              for month, sign in ((6, 0), (1, 1)) for i in range(6)]  # fmt: skip
    well = [pop(f"W{i}", int(i == 0), bench="B2") for i in range(60)]
    assert common_causes([*mended, *well], 0.5).found == ()
    still = [pop(f"S{i}", 1 - sign.sign, sign.on, bench="B1") for i, sign in enumerate(mended[:6])]
    [found] = common_causes([*mended[6:], *still, *well], 0.5).found
    assert found.keys == tuple(f"S{i}" for i in range(6))


def test_a_bench_is_judged_by_the_year_until_it_is_put_right():
    """Six high in 2023 and none of thirty in 2024: the year it stood wrong is the one named."""
    wrong = [pop(f"S{i}", 1, date(2023, 4, 1), bench="B1") for i in range(6)]
    right = [pop(f"R{i}", bench="B1") for i in range(30)]
    well = [pop(f"W{i}", int(i == 0), date(2023 + i % 2, 4, 1), bench="B2") for i in range(60)]
    [found] = common_causes([*wrong, *right, *well], 0.02).found
    assert (found.group.names, found.failed, found.of) == (("B1", "2023"), 6, 6)


def test_rates_of_another_setting_do_not_matter():
    rings = [Outcome(i, "lower_ring", DAY, 1, bench="B1") for i in range(4)]
    pops = [pop(10 + i, bench="B2") for i in range(60)]
    assert common_causes(rings + pops, 0.5).found == ()  # every ring fails wherever it is read


def test_everybody_failing_is_no_group():
    """One bench does all the work and everything fails on it: the fleet is the group, p is 1."""
    asked = common_causes([pop(i, -1, bench="B1") for i in range(50)], 0.5)
    assert asked.p.tolist() == [1, 1] and asked.found == ()


def test_nothing_at_all():
    assert common_causes([], 0.1).found == ()
