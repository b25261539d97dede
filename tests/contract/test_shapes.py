"""Every kind of rule, from a workbook to `due_list --as-of`: worked dates of the sections named.

What a section gives is copied from it; days that are only ours to choose follow by its arithmetic.
"""

import pytest

from tests.contract.test_due_dates import DEVICE, FITTED, done, owed

PLACE = """
    site | tag | unit | set_pressure | in_service_on | commissioned_on
    Northmere | PSV-1 | Stills | 150 psig | {} | {}
"""


def books(rule, days=(), *, activity="bench_test", in_service="", commissioned="", **columns):
    sheets = {
        "positions": PLACE.format(in_service, commissioned),
        "devices": DEVICE,
        "installations": FITTED,
        "obligations": owed(rule, activity, **columns),
    }
    return sheets | ({"inspections": done(*days, activity=activity)} if days else {})


def line(row):
    return row["due_on"], row["status"]


WORKED = [
    # 46 CFR table 61.05-10 note 2: two in any five years, and no more than three years apart
    ("us-46cfr61-watertube", ["2020-01-01", "2022-11-01"], {}, "2025-01-01", "5 years"),
    ("us-46cfr61-watertube", ["2020-01-01"], {}, "2023-01-01", "3 years"),
    # 46 CFR table 61.05-10: fire-tube boilers yearly
    ("us-46cfr61-firetube", ["2024-02-29"], {}, "2025-02-28", "1 year"),
    # NBIC NB-23 part 4 (from memory): heating boilers, before the season
    ("nbic-heating", ["2024-05-10"], {"season": "10-01"}, "2025-09-30", "2025-10-01"),
    ("nbic-heating", ["2024-03-15"], {"season": "10-01"}, "2024-09-30", "2024-10-01"),
    # 33 CFR 156.170(f): within the year, at least 30 days before the season of use
    ("us-33cfr156.170", ["2023-11-20"], {"season": "05-01"}, "2025-03-31", "2025-05-01"),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "days", "columns", "due_on", "said"), WORKED)
def test_a_worked_date_of_the_law(plant, rule, days, columns, due_on, said):
    plant.must(**books(rule, days, **columns))
    row = plant.due_of("PSV-1", days[-1])
    assert (row["due_on"], row["last_done_on"]) == (due_on, days[-1])
    assert said in row["reason"]
    assert plant.due_of("PSV-1", due_on)["status"] == "due_soon"


def test_a_target_and_the_day_it_must_not_pass(plant):
    """30 CFR 250.804(a)(4), 2015 edition: quarterly, no more than 120 days apart."""
    plant.must(**books("us-30cfr250-quarter", ["2024-01-15"]))
    row = plant.due_of("PSV-1", "2024-04-20")
    assert (row["target_on"], row["due_on"], row["status"]) == (
        "2024-04-15", "2024-05-14", "due_soon",
    )  # fmt: skip
    assert "120 days" in row["reason"]


def test_the_gap_shortens_with_age(plant):
    """49 CFR 180.605(c), specification 60: after 4 years, then every 2 until 12, then yearly."""
    days = [f"{year}-01-01" for year in (2014, 2016, 2018, 2020, 2022, 2023)]
    plant.must(**books("us-49cfr180.605-60", days, in_service="2010-01-01"))
    given = [plant.due_of("PSV-1", day)["due_on"] for day in ["2013-12-31", *days]]
    assert given == [*days, "2024-01-01"]
    assert line(plant.due_of("PSV-1", "2013-12-31")) == ("2014-01-01", "due_soon")
    assert plant.due_of("PSV-1", "2009-12-31")["status"] == "not_required"


def test_without_the_day_it_entered_service_the_age_is_not_known(plant):
    plant.load(**books("us-49cfr180.605-60", ["2016-01-01"]))
    row = plant.due_of("PSV-1", "2016-06-01")
    assert line(row) == (None, "interval_not_set")
    assert "service" in row["reason"]


def test_a_release_calls_for_work_within_days_and_is_answered_once(plant):
    """40 CFR 63.165(b): within 5 calendar days of each pressure release."""
    plant.must(**books("us-40cfr63.165", ["2024-02-10"], activity="visual"))
    assert line(plant.due_of("PSV-1", "2024-02-25")) == (None, "compliant")
    plant.must(triggers="tag | kind | happened_on\nPSV-1 | release | 2024-02-26")
    assert line(plant.due_of("PSV-1", "2024-02-25")) == (None, "compliant")
    row = plant.due_of("PSV-1", "2024-02-26")
    assert line(row) == ("2024-03-02", "due_soon") and "2024-02-26" in row["reason"]
    assert plant.due_of("PSV-1", "2024-03-03")["status"] == "overdue"
    more = done("2024-02-10", "2024-03-05", activity="visual")
    plant.must(inspections=more)
    assert plant.due_of("PSV-1", "2024-03-04")["status"] == "overdue"
    assert line(plant.due_of("PSV-1", "2024-03-05")) == (None, "compliant")


def test_another_happening_calls_for_nothing(plant):
    plant.must(**books("us-40cfr63.165", activity="visual"),
               triggers="tag | kind | happened_on\nPSV-1 | alteration | 2024-02-26")  # fmt: skip
    assert line(plant.due_of("PSV-1", "2024-03-10")) == (None, "compliant")


COUNTERS = "tag | counter | read_on | value\n"


def test_a_counter_is_projected_until_it_gets_there(plant):
    """49 CFR 230.50: every 92 service days. 46 in 60 days give 92 in 120: 2024-04-30."""
    plant.must(**books("us-49cfr230.50", ["2024-01-01"]),
               counters=COUNTERS + "PSV-1 | service_days | 2024-01-01 | 500")  # fmt: skip
    assert plant.due_of("PSV-1", "2024-01-02")["status"] == "interval_not_set"
    plant.must(counters=COUNTERS + "PSV-1 | service_days | 2024-03-01 | 546")
    row = plant.due_of("PSV-1", "2024-03-01")
    assert line(row) == ("2024-04-30", "due_soon") and "projected" in row["reason"]
    plant.must(counters=COUNTERS + "PSV-1 | service_days | 2024-04-10 | 592")
    row = plant.due_of("PSV-1", "2024-04-11")
    assert line(row) == ("2024-04-10", "overdue") and "projected" not in row["reason"]


def own(parameters):
    return "id | kind | parameters | citation\nown-1 | max_gap | " + parameters + " | own manual"


OUT = "tag | from_on | to_on\nPSV-1 | 2022-01-01 | 2023-01-01"
TEST_FIRST = '{"gap": "P5Y", "out_of_service": "test_before_return"}'


@pytest.mark.parametrize(
    ("parameters", "while_out", "on_return"),
    [
        ('{"gap": "P5Y"}', (None, "not_required"), ("2025-01-01", "compliant")),
        ('{"gap": "P5Y", "out_of_service": "stop"}', (None, "not_required"),
         ("2025-01-01", "compliant")),
        ('{"gap": "P5Y", "out_of_service": "run"}', ("2025-01-01", "compliant"),
         ("2025-01-01", "compliant")),
        (TEST_FIRST, (None, "not_required"), ("2023-01-01", "due_soon")),
    ],
)  # fmt: skip
def test_out_of_service_stops_runs_or_wants_a_test_before_return(
    plant, parameters, while_out, on_return
):
    plant.must(rules=own(parameters), out_of_service=OUT, **books("own-1", ["2020-01-01"]))
    assert line(plant.due_of("PSV-1", "2021-12-31")) == ("2025-01-01", "compliant")
    assert line(plant.due_of("PSV-1", "2022-06-01")) == while_out
    assert line(plant.due_of("PSV-1", "2023-01-01")) == on_return


def test_tested_while_out_of_service_it_comes_back_in_order(plant):
    sheets = books("own-1", ["2020-01-01", "2022-12-20"])
    plant.must(rules=own(TEST_FIRST), out_of_service=OUT, **sheets)
    assert line(plant.due_of("PSV-1", "2023-01-02")) == ("2027-12-20", "compliant")


def test_back_untested_it_is_overdue_from_the_day_after(plant):
    plant.must(rules=own(TEST_FIRST), out_of_service=OUT, **books("own-1", ["2020-01-01"]))
    row = plant.due_of("PSV-1", "2023-01-02")
    assert line(row) == ("2023-01-01", "overdue") and "return" in row["reason"]


def test_several_obligations_stand_side_by_side_and_the_lists_begin_with_the_earliest(plant):
    sheets = books("us-30cfr250-psv", ["2024-01-15"])
    sheets["obligations"] += "\nPSV-1 | lever | nbic-boiler-low-lever | \n"
    sheets["obligations"] += "PSV-1 | overhaul | api510-process | "
    plant.must(**sheets)
    rows = [row for row in plant.due("2024-02-01") if row["tag"] == "PSV-1"]
    assert [(row["activity"], row["due_on"], row["status"]) for row in rows] == [
        ("overhaul", None, "no_record"),
        ("lever", "2024-07-15", "compliant"),
        ("bench_test", "2025-01-15", "compliant"),
    ]


def test_a_rule_that_is_replaced_keeps_its_past_days(plant):
    first = "id | kind | parameters | citation | replaces | from_on\n"
    plant.must(rules=first + 'own-1 | max_gap | {"gap": "P5Y"} | own manual | | ',
               **books("own-1", ["2020-01-01"]))  # fmt: skip
    plant.must(rules=first + 'own-2 | max_gap | {"gap": "P4Y"} | own manual 2 | own-1 | 2022-06-01')
    then, now = plant.due_of("PSV-1", "2022-05-31"), plant.due_of("PSV-1", "2022-06-01")
    assert (then["rule"], then["due_on"]) == ("own-1", "2025-01-01")
    assert (now["rule"], now["due_on"]) == ("own-2", "2024-01-01")
