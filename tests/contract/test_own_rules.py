"""The owner's own rules: added, replaced from a day on, and what is refused.

Each check is the workbook's own contract unless it names another source.
"""

import pytest
from django.db import transaction

from tests.contract.own import refused, sheet, written
from tests.contract.plant import run

PLACE = (
    "site | tag | unit | set_pressure | tolerance | in_service_on\nNorthmere | PSV-1 | Stills |"
    " 150 psig | {tolerance} | 2010-01-01"
)
DEVICE = "device | kind\nD-1 | spring"
FITTED = "tag | device | installed_on\nPSV-1 | D-1 | 2010-01-10"
OWED = "tag | activity | rule | counts_from | note\nPSV-1 | bench_test | own-1 | done_on | ours"
DONE = (
    "ref | device | activity | done_on | done_by | verified_by | as_left_pop | disposition\n"
    "I | D-1 | bench_test | 2020-01-01 | Ann | Bo | 150 psig | repaired"
)
RULE_HEADS = ["id", "replaces", "kind", "parameters", "citation", "edition", "from_on"]


def rule(code, parameters='{"gap": "P5Y"}', *, replaces="", kind="max_gap", from_on="", edition=""):
    citation = "our procedure 7" if code.startswith("own") else ""
    return [code, replaces, kind, parameters, citation, edition, from_on]


def rules(*rows):
    return sheet(RULE_HEADS, *rows)


@pytest.fixture
def owing(plant):
    """A test on 2020-01-01 under a rule of the owner's own, at most five years apart."""
    plant.must(
        rules=rules(rule("own-1")), positions=PLACE.format(tolerance="asme8"), devices=DEVICE,
        installations=FITTED, obligations=OWED, inspections=DONE,
    )  # fmt: skip
    return plant


def test_a_rule_of_the_owner_s_own_gives_dates(owing):
    assert owing.due_of("PSV-1", "2024-01-01")["due_on"] == "2025-01-01"
    assert written(owing, "rules") == {
        "own-1": dict(zip(RULE_HEADS, rule("own-1", '{"gap":"P5Y"}'), strict=True))
    }  # and nothing of the library


@pytest.mark.parametrize("typed", ['{ "gap" : "P5Y" }', '{"gap":"P60M"}', '{"gap": "P5Y",'
                                   ' "out_of_service": "stop"}'])  # fmt: skip
def test_the_same_rule_in_other_words_is_no_other_rule(owing, typed):
    before = owing.export()
    owing.must(rules=rules(rule("own-1", typed)))
    assert owing.export() == before


def test_an_edit_is_a_new_rule_from_a_day_on(owing):
    owing.must(rules=rules(rule("own-2", '{"gap": "P3Y"}', replaces="own-1", from_on="2022-06-01")))
    past, then = owing.due_of("PSV-1", "2022-05-31"), owing.due_of("PSV-1", "2022-06-01")
    assert (past["rule"], past["due_on"]) == ("own-1", "2025-01-01")
    assert (then["rule"], then["due_on"]) == ("own-2", "2023-01-01")
    lines = owing.export()["obligations"].decode().splitlines()[1:]
    assert lines == [
        "Northmere,PSV-1,bench_test,own-1,done_on,,,,,2022-06-01,ours",
        "Northmere,PSV-1,bench_test,own-2,done_on,,,,2022-06-01,,ours",
    ]


def test_what_came_before_the_edit_loads_again_and_changes_nothing(owing):
    edited = rules(rule("own-1"), rule("own-2", '{"gap": "P3Y"}', replaces="own-1",
                                       from_on="2022-06-01"))  # fmt: skip
    owing.must(rules=edited)
    before = owing.export()
    owing.must(rules=edited, obligations=OWED, inspections=DONE)
    assert owing.export() == before


LEAVE = (
    "tag | activity | due_on | until_on | policy | reason | approved_by | approved_on\n"
    "PSV-1 | bench_test | 2025-01-01 | 2025-06-01 | simple | no spare | Eve | 2023-05-01"
)
DECIDED = "tag | activity | from_on | interval | act_by | reason | decided_by\n"


def test_decisions_in_force_go_on_under_the_new_rule(owing):
    decided = DECIDED + (
        "PSV-1 | bench_test | 2021-01-01 | P2Y | | two low | Eve\n"
        "PSV-1 | bench_test | 2023-01-01 | P18M | | three low | Eve"
    )
    owing.must(decisions=decided)
    owing.must(rules=rules(rule("own-2", '{"gap": "P4Y"}', replaces="own-1", from_on="2022-06-01")))
    assert owing.due_of("PSV-1", "2022-05-31")["due_on"] == "2022-01-01"
    assert owing.due_of("PSV-1", "2022-06-01")["due_on"] == "2022-01-01"
    assert owing.due_of("PSV-1", "2023-01-01")["due_on"] == "2021-07-01"
    lines = owing.export()["decisions"].decode().splitlines()[1:]
    assert lines == [
        "Northmere,PSV-1,bench_test,2021-01-01,P2Y,,two low,,Eve",
        "Northmere,PSV-1,bench_test,2022-06-01,P2Y,,carried over from own-1: two low,,Eve",
        "Northmere,PSV-1,bench_test,2023-01-01,P18M,,three low,,Eve",
    ]
    before = owing.export()
    owing.must(decisions=decided)
    assert owing.export() == before


def test_an_act_by_still_ahead_goes_on(owing):
    owing.must(decisions=DECIDED + "PSV-1 | bench_test | 2023-06-01 | P3Y | 2023-09-30 | low | Eve")
    owing.must(rules=rules(rule("own-2", '{"gap": "P6Y"}', replaces="own-1", from_on="2023-08-01")))
    for day in ("2023-07-31", "2023-08-01", "2023-09-30"):
        assert owing.due_of("PSV-1", day)["due_on"] == "2023-09-30"


def test_a_decision_that_the_new_rule_forbids_refuses_it(owing):
    """Replacing silently would take back what an engineer signed for."""
    owing.must(decisions=DECIDED + "PSV-1 | bench_test | 2021-01-01 | P4Y | | clean | Eve")
    row = refused(
        owing, "rules 2 replaces",
        rules=rules(rule("own-2", '{"gap": "P3Y"}', replaces="own-1", from_on="2022-06-01")),
    )  # fmt: skip
    assert "PSV-1" in row["expected"] and "P4Y" in row["expected"]


def test_leave_to_pass_a_date_ahead_goes_on_for_the_same_date(owing):
    owing.must(deferrals=LEAVE)
    owing.must(rules=rules(rule("own-2", '{"gap": "P5Y"}', replaces="own-1", from_on="2024-06-01")))
    row = owing.due_of("PSV-1", "2025-02-01")
    assert (row["rule"], row["status"]) == ("own-2", "overdue_deferred")
    assert len(owing.export()["deferrals"].decode().splitlines()) == 2
    before = owing.export()
    owing.must(deferrals=LEAVE)
    assert owing.export() == before


def test_a_replaced_rule_goes_out_and_comes_in_again(plant):
    """Past days keep their rule, and decisions and leave what they moved."""
    days = ("2021-06-01", "2022-05-01", "2022-06-01", "2024-06-01", "2026-11-25")
    path = plant.path("way")
    with transaction.atomic():
        plant.must(
            rules=rules(rule("own-1")), positions=PLACE.format(tolerance="asme8"), devices=DEVICE,
            installations=FITTED, obligations=OWED, inspections=DONE,
            decisions=DECIDED + "PSV-1 | bench_test | 2021-01-01 | P4Y | | clean | Eve",
            deferrals=LEAVE.replace("2025-01-01", "2024-01-01").replace("2023-05", "2022-01"),
        )  # fmt: skip
        edit = rule("own-2", '{"gap": "P4Y"}', replaces="own-1", from_on="2022-06-01")
        plant.must(rules=rules(edit))
        before, due = plant.export(), [plant.due(day) for day in days]
        assert not run("export_workbook", str(path)).failed
        transaction.set_rollback(True)
    said = plant.load_path(path)
    assert not said.failed, said.rows
    assert plant.export() == before and [plant.due(day) for day in days] == due
    assert [rows[0]["deferred_until"] for rows in due[:3]] == [None, "2025-06-01", "2025-06-01"]
    assert "0 differences" in run("verify_audit").out
    assert "0 differences" in run("check_due_dates").out


def test_a_rule_of_the_library_may_be_replaced(plant):
    plant.must(positions=PLACE.format(tolerance="asme8"), devices=DEVICE, installations=FITTED,
               obligations=OWED.replace("own-1", "api510-process"), inspections=DONE)  # fmt: skip
    plant.must(rules=rules(rule("own-3", '{"gap": "P2Y"}', replaces="api510-process",
                                from_on="2021-01-01")))  # fmt: skip
    assert plant.due_of("PSV-1", "2021-01-01")["due_on"] == "2022-01-01"


@pytest.mark.parametrize(
    ("row", "column"),
    [
        (rule("own-1", '{"gap": "P4Y"}'), "parameters"),  # known, with other parameters
        (rule("own-1", kind="by_history", parameters="{}"), "kind"),
        (rule("own-1", edition="2024"), "edition"),
        (rule("own-1", from_on="2024-01-01"), "from_on"),
        (rule("own-1", replaces="api510-process"), "replaces"),
        (rule("us-49cfr192.739", '{"gap": "P15M"}'), "kind"),  # the library's own
        (rule("api510-process", '{"gap": "P6Y"}'), "parameters"),
        (rule("own-2", kind=""), "kind"),
        (rule("own-2", kind="sometimes"), "kind"),
        (rule("own-2", "P5Y"), "parameters"),  # not JSON
        (rule("own-2", '["P5Y"]'), "parameters"),
        (rule("own-2", '{"gap": "P5Y", "gap": "P6Y"}'), "parameters"),
        (rule("own-2", '{"gap": 5}'), "parameters"),
        (rule("own-2", '{"gap": 0.5}'), "parameters"),
        (rule("own-2", '{"gap": NaN}'), "parameters"),
        (rule("own-2", "{}"), "parameters"),
        (rule("own-2", '{"gap": "P5Y", "times": 2}'), "parameters"),
        (rule("own-2", '{"gap": "P1M2W"}'), "parameters"),  # ISO 8601: weeks stand alone
        (rule("own-2", '{"gap": "5 years"}'), "parameters"),
        (rule("own-2", replaces="own-9", from_on="2024-01-01"), "replaces"),
        (rule("own-2", replaces="own-2", from_on="2024-01-01"), "replaces"),
        (rule("own-2", replaces="own-1"), "from_on"),
        (rule("-"), "id"),
    ],
    ids=lambda value: str(value)[:60],
)
def test_rules_that_cannot_be(owing, row, column):
    refused(owing, f"rules 2 {column}", rules=rules(row))


def test_another_rule_needs_an_id_of_its_own(owing):
    row = refused(owing, "rules 2 parameters", rules=rules(rule("own-1", '{"gap": "P4Y"}')))
    assert "give a new id that replaces it" in row["expected"]


def test_what_a_shape_expected_is_said(owing):
    row = refused(owing, "rules 2 parameters", rules=rules(rule("own-2", '{"gap": "P1M2W"}')))
    assert row["typed"] == "P1M2W" and "gap" in row["expected"]


def test_a_rule_is_replaced_once(owing):
    first = rule("own-2", '{"gap": "P3Y"}', replaces="own-1", from_on="2022-06-01")
    second = rule("own-3", '{"gap": "P4Y"}', replaces="own-1", from_on="2023-06-01")
    refused(owing, "rules 3 replaces", rules=rules(first, second))
    owing.must(rules=rules(first))
    refused(owing, "rules 2 replaces", rules=rules(second))
    third = rule("own-3", '{"gap": "P4Y"}', replaces="own-2", from_on="2022-06-01")
    refused(owing, "rules 2 from_on", rules=rules(third))  # own-2 holds only from that day
    third[-1] = "2023-06-01"
    owing.must(rules=rules(third))
    assert owing.due_of("PSV-1", "2023-06-01")["due_on"] == "2024-01-01"


def test_a_chain_may_stand_in_any_order(plant):
    plant.must(rules=rules(
        rule("c", '{"gap": "P3Y"}', replaces="b", from_on="2023-01-01"),
        rule("b", '{"gap": "P4Y"}', replaces="a", from_on="2022-01-01"),
        rule("a"),
    ))  # fmt: skip
    assert list(written(plant, "rules")) == ["a", "b", "c"]


def test_rules_that_replace_each_other_replace_nothing(plant):
    one = rule("own-1", replaces="own-2", from_on="2023-01-01")
    other = rule("own-2", replaces="own-1", from_on="2022-01-01")
    refused(plant, "rules 2 replaces", rules=rules(one, other))


def test_a_fault_is_told_once_and_not_by_those_who_name_the_rule(plant):
    refused(
        plant, "rules 2 parameters", positions=PLACE.format(tolerance=""),
        rules=rules(rule("own-1", "{}"), rule("own-2", replaces="own-1", from_on="2022-01-01")),
        obligations=OWED + "\nPSV-1 | bench_test | own-2 | |",
    )  # fmt: skip


def test_nothing_new_is_owed_under_a_rule_that_was_replaced(owing):
    owing.must(rules=rules(rule("own-2", '{"gap": "P3Y"}', replaces="own-1", from_on="2022-06-01")))
    row = refused(owing, "obligations 2 rule",
                  obligations="tag | activity | rule\nPSV-1 | visual | own-1")  # fmt: skip
    assert "own-2" in row["expected"]
    owing.must(obligations="tag | activity | rule | until_on\nPSV-1 | visual | own-1 | 2022-06-01")


def test_what_begins_later_under_the_old_rule_is_not_moved_back(owing):
    owing.must(obligations="tag | activity | rule | from_on\nPSV-1 | visual | own-1 | 2030-01-01")
    later = rule("own-2", '{"gap": "P3Y"}', replaces="own-1", from_on="2022-06-01")
    assert "PSV-1" in refused(owing, "rules 2 from_on", rules=rules(later))["expected"]


def test_a_rule_in_use_cannot_be_left_out(owing):
    """There is no removal: what is absent is untouched."""
    owing.must(rules=rules(rule("own-8")))
    assert list(written(owing, "rules")) == ["own-1", "own-8"]
