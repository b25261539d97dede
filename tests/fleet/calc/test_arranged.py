"""Roles in an arrangement against duty roles: ASME BPVC Section VIII names single, additional and
fire devices; which pairs contradict each other is our reading of it."""

import pytest

from fleet.calc.arranged import limiting_role, role_contradiction


@pytest.mark.parametrize(
    ("duty_role", "arranged", "limits"),
    [("", "additional", "additional"), ("", "fire", "fire"), ("", "duty", "first"),
     ("", "standby", ""), ("", "", ""), ("first", "additional", "first"), ("fire", "", "fire")],
)  # fmt: skip
def test_the_position_s_own_role_limits_first(duty_role, arranged, limits):
    assert limiting_role(duty_role, arranged) == limits


@pytest.mark.parametrize(
    ("duty_role", "role", "contradicts"),
    [("first", "duty", False), ("additional", "duty", True), ("fire", "duty", True),
     ("first", "additional", True), ("boiler", "additional", False), ("boiler", "duty", False),
     ("additional", "fire", True), ("fire", "fire", False), ("", "fire", False)],
)  # fmt: skip
def test_a_role_that_says_otherwise_contradicts(duty_role, role, contradicts):
    assert bool(role_contradiction(duty_role, "multiple", role)) is contradicts
    assert not role_contradiction(duty_role, "changeover", role)
