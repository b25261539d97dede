"""Capacity left when devices are out.

The rule is public in 49 CFR 192.743: capacity is determined again when a device changes, and a
system protected by several devices counts their sum. That standby devices never count twice, that
a fire-case device is no help in other cases and that a disc takes from a valve behind it is common
practice (API Std 520-I, ASME VIII UG-125, from memory).
"""

import pytest

from fleet.calc.coverage import CAUTION, coverage
from fleet.calc.protection import duties
from tests.fleet.calc.protected import duty, flow, joined, member

MULTIPLE = {"kind": "multiple"}
CHANGEOVER = {"kind": "changeover", "roles": "duty standby"}


def pair(a, b, **kind):
    return duty(member("A", *a), member("B", *b), **(kind or CHANGEOVER))


class TestOneAlone:
    def test_nothing_stays_where_the_only_device_is_out(self):
        found = coverage(duty(member("A", "12000 kg/h", "10000 kg/h")), ["A"])
        assert found.kind == "short"
        assert found.words == "nothing else stays in service here"

    def test_nothing_out_leaves_all(self):
        found = coverage(duty(member("A", "12000 kg/h", "10000 kg/h")), [])
        assert (found.kind, found.left, found.required) == (
            "covered", flow("12000 kg/h"), flow("10000 kg/h"),
        )  # fmt: skip
        assert found.words == (
            "the rated capacity of what stays in service (A), 12000 kg/h, is at least the required"
            " 10000 kg/h"
        )

    def test_a_device_that_stands_by_for_nothing_named_is_no_protection(self):
        one = duty(member("A", "12000 kg/h", "10000 kg/h", is_idle=True))
        assert coverage(one, []).kind == "short"


class TestChangeover:
    def test_the_standby_takes_over(self):
        found = coverage(pair(("12000 kg/h", "10000 kg/h"), ("11000 kg/h",)), ["A"])
        assert (found.kind, found.left) == ("covered", flow("11000 kg/h"))

    def test_a_standby_is_never_counted_twice(self):
        found = coverage(pair(("6000 kg/h", "10000 kg/h"), ("6000 kg/h",)), [])
        assert (found.kind, found.left) == ("short", flow("6000 kg/h"))

    def test_neither_may_be_out_with_the_other(self):
        both = coverage(pair(("12000 kg/h", "10000 kg/h"), ("12000 kg/h",)), ["A", "B"])
        assert both.kind == "short"

    def test_the_largest_required_of_the_two_governs(self):
        found = coverage(pair(("12000 kg/h", "9000 kg/h"), ("12000 kg/h", "12500 kg/h")), ["A"])
        assert (found.kind, found.required) == ("short", flow("12500 kg/h"))

    def test_one_that_does_not_stand_cannot_take_over(self):
        there = member("A", "12000 kg/h", "10000 kg/h")
        gone = member("B", "12000 kg/h", absent="nothing is fitted")
        found = coverage(duty(there, gone, **CHANGEOVER), ["A"])
        assert found.kind == "short"
        assert found.words == "nothing else stays in service here (B: nothing is fitted)"

    def test_standing_by_is_standing_on_a_changeover(self):
        there = member("A", "12000 kg/h", "10000 kg/h")
        idle = member("B", "12000 kg/h", is_idle=True)
        assert coverage(duty(there, idle, **CHANGEOVER), ["A"]).kind == "covered"

    def test_another_set_pressure_cannot_be_compared(self):
        there = member("A", "12000 kg/h", "10000 kg/h")
        other = member("B", "12000 kg/h", at="11 barg")
        found = coverage(duty(there, other, **CHANGEOVER), ["A"])
        assert found.kind == "not_comparable"
        assert found.words == "the set pressures of A and B differ: 10 barg and 11 barg"

    def test_a_set_pressure_that_is_not_given_is_unknown(self):
        there, other = member("A", "12 kg/h", "10 kg/h"), member("B", "12 kg/h", at="")
        assert coverage(duty(there, other, **CHANGEOVER), ["A"]).kind == "unknown"

    def test_one_set_pressure_in_other_units_is_the_same(self):
        there = member("A", "12000 kg/h", "10000 kg/h")
        other = member("B", "12000 kg/h", at="1000 kPag")
        assert coverage(duty(there, other, **CHANGEOVER), ["A"]).kind == "covered"

    def test_an_unknown_rating_of_what_stays_is_unknown(self):
        found = coverage(pair(("12000 kg/h", "10000 kg/h"), ("",)), ["A"])
        assert (found.kind, found.left) == ("unknown", None)
        assert found.words == "the rated capacity of what is fitted at B is not given"

    def test_an_unknown_rating_of_what_is_out_does_not_matter(self):
        assert coverage(pair(("", "10000 kg/h"), ("12000 kg/h",)), ["A"]).kind == "covered"


class TestChangeoverWithoutRequiredCapacity:
    def test_rated_for_no_less_stands_in(self):
        found = coverage(pair(("12000 kg/h",), ("12000 kg/h",)), ["A"])
        assert found.kind == "covered"
        assert found.warnings == ("no required capacity is given for A and B",)

    def test_rated_for_less_does_not(self):
        lesser = pair(("12000 kg/h",), ("11999 kg/h",))
        assert coverage(lesser, ["A"]).kind == "short"
        assert coverage(lesser, ["B"]).kind == "covered"

    def test_unlike_flows_are_not_compared(self):
        assert coverage(pair(("12 kg/h",), ("12 scfm",)), ["A"]).kind == "not_comparable"

    def test_one_rating_alone_says_nothing(self):
        assert coverage(pair(("12000 kg/h",), ("",)), ["A"]).kind == "unknown"
        assert coverage(pair(("",), ("12000 kg/h",)), ["A"]).kind == "unknown"

    def test_like_devices_stand_in_for_each_other_with_a_warning(self):
        like = [member(tag, make=("M-1", "J")) for tag in "AB"]
        found = coverage(duty(*like, **CHANGEOVER), ["A"])
        assert found.kind == "covered"
        assert "rated capacities are not given" in found.words
        assert found.warnings == ("no required capacity is given for A and B",)

    @pytest.mark.parametrize("makes", [(("M", "J"), ("M", "K")), (None, None), (("M", "J"), None)])
    def test_unlike_or_unknown_devices_do_not(self, makes):
        unlike = [member(tag, make=make) for tag, make in zip("AB", makes, strict=True)]
        assert coverage(duty(*unlike, **CHANGEOVER), ["A"]).kind == "unknown"


class TestSeveral:
    def several(self, *rows, roles="duty additional additional"):
        members = [member(tag, *row) for tag, row in zip("ABC", rows, strict=False)]
        return duty(*members, kind="multiple", roles=" ".join(roles.split()[: len(rows)]))

    def test_they_count_together(self):
        one = self.several(("5000 kg/h", "10000 kg/h"), ("5000 kg/h",), ("5000 kg/h",))
        assert coverage(one, ["A"]).left == flow("10000 kg/h")
        assert coverage(one, ["A"]).kind == "covered"
        assert coverage(one, ["A", "B"]).kind == "short"

    def test_one_kilogram_too_little_is_short(self):
        one = self.several(("5000 kg/h", "10000 kg/h"), ("4999 kg/h",), ("5000 kg/h",))
        assert coverage(one, ["A"]).kind == "short"
        assert coverage(one, ["B"]).kind == "covered"

    def test_pounds_and_kilograms_are_added_exactly(self):
        one = self.several(("5000 kg/h", "2267.96185 kg/h"), ("5000 lb/h",))
        assert coverage(one, ["A"]).kind == "covered"  # 5000 lb = 2267.96185 kg (NIST SP 811)

    def test_standing_by_without_a_changeover_counts_for_nothing(self):
        members = member("A", "5000 kg/h", "5000 kg/h"), member("B", "5000 kg/h", is_idle=True)
        assert coverage(duty(*members, **MULTIPLE, roles="duty additional"), ["A"]).kind == "short"

    def test_unlike_flows_are_never_added(self):
        one = self.several(("5000 kg/h", "5000 kg/h"), ("9000 scfm",), ("9000 kg/h",))
        found = coverage(one, ["A"])
        assert (found.kind, found.left, found.required) == ("not_comparable", None, None)
        assert "never added or compared" in found.words

    def test_standard_and_normal_volumes_are_not_added_either(self):
        one = self.several(("5000 scfm", "5000 scfm"), ("9000 Nm3/h",))
        assert coverage(one, ["A"]).kind == "not_comparable"

    def test_unlike_requirements_are_not_compared(self):
        one = self.several(("5000 kg/h", "5000 kg/h"), ("9000 kg/h", "100 gpm"))
        assert coverage(one, ["A"]).kind == "not_comparable"

    def test_what_is_not_known_is_never_covered(self):
        one = self.several(("5000 kg/h", "5000 kg/h"), ("",), ("9000 kg/h",))
        assert coverage(one, ["A"]).kind == "unknown"
        assert coverage(one, ["B"]).kind == "covered"

    def test_none_required_anywhere_is_unknown(self):
        found = coverage(self.several(("5000 kg/h",), ("5000 kg/h",)), ["A"])
        assert (found.kind, found.words) == (
            "unknown", "no required capacity is given for A and B",
        )  # fmt: skip

    def test_a_requirement_no_device_can_pass_alone_is_the_whole(self):
        rows = [("6000 kg/h", "10000 kg/h")] * 3
        assert coverage(self.several(*rows), ["A"]).kind == "covered"

    def test_whole_or_share_is_not_guessed(self):
        found = coverage(self.several(*[("12000 kg/h", "10000 kg/h")] * 2), ["A"])
        assert found.kind == "unknown"
        assert "whole or a share is not recorded" in found.words

    def test_covered_as_whole_and_as_shares(self):
        found = coverage(self.several(*[("12000 kg/h", "6000 kg/h")] * 2), ["A"])
        assert (found.kind, found.required) == ("covered", flow("12000 kg/h"))

    def test_a_fire_device_is_no_help_in_other_cases(self):
        one = self.several(("12000 kg/h", "10000 kg/h"), ("12000 kg/h",), roles="duty fire")
        assert coverage(one, ["A"]).kind == "short"
        assert coverage(one, ["B"]).kind == "covered"


class TestDiscsAndPilots:
    @pytest.mark.parametrize("out", ["disc", "valve"])
    def test_a_disc_and_its_valve_are_one(self, out):
        parts = member("disc"), member("valve", "12000 kg/h", "10000 kg/h")
        one = duty(*parts, kind="combination", roles="upstream_disc valve")
        assert coverage(one, [out]).kind == "short"
        assert coverage(one, []).left == flow("12000 kg/h")
        assert "behind a disc" in coverage(one, []).warnings[0]

    def test_a_pilot_takes_its_main_valve_with_it(self):
        one = duty(
            member("main", "9 scfm", "9 scfm"), member("p"), kind="pilot", roles="main pilot"
        )
        assert coverage(one, []).kind == "covered"
        assert coverage(one, ["p"]).kind == "short"

    def test_arrangements_stand_within_each_other(self):
        members = [
            member("V1", "8000 kg/h", "12000 kg/h"), member("R1"), member("S1", "8000 kg/h"),
            member("V2", "5000 kg/h"),
        ]  # fmt: skip
        arranged = [
            joined("combination", V1="valve", R1="upstream_disc"),
            joined("changeover", V1="duty", S1="standby"),
            joined("multiple", V1="duty", V2="additional"),
        ]
        (one,) = duties(members, arranged)
        assert coverage(one, ["R1"]).left == flow("13000 kg/h")
        assert coverage(one, ["R1", "S1"]).kind == "short"
        assert coverage(one, ["V2"]).kind == "short"


def test_nothing_is_worded_as_permission():
    found = coverage(pair(("12000 kg/h", "10000 kg/h"), ("11000 kg/h",)), ["A"])
    said = f"{found.words} {' '.join(found.warnings)}".casefold()
    assert not {"may", "allowed", "safe", "permitted", "ok"} & set(said.split())
    assert "your procedure" in CAUTION
    assert "local code" in CAUTION


def test_everybody_is_in_one_duty_however_they_are_joined():
    members = [member(tag, "1 kg/h") for tag in "ABCDEFG"]
    arranged = [
        joined("changeover", B="duty", A="standby"),
        joined("combination", C="upstream_disc", D="valve"),
        joined("multiple", D="duty", B="additional"),
        joined("pilot", G="main", X="pilot"),  # X is not among them
    ]
    found = duties(members, arranged)
    assert [[m.tag for m in one.members] for one in found] == [list("ABCD"), ["E"], ["F"], ["G"]]
    assert [stand.role for stand in found[0].stands] == ["additional", "duty"]
    assert found[0].name == "multiple of D/B"
