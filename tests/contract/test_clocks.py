"""Where a clock comes from and where it goes: stories of swaps, shelves and corrections.

The stories are the workbook's own contract: the installation decides which position counts, never
the tag typed on the sheet; what is not known stays unknown.
"""

import pytest

POSITIONS = """
    site | tag | unit | set_pressure | tolerance
    Northmere | 101 | Stills | 150 psig | asme8
    Northmere | 102 | Stills | 150 psig | asme8
"""
DEVICES = """
    device | serial | kind
    S1 | 00123 | spring
    S2 | 00124 | spring
"""
OWED = """
    tag | activity | rule
    101 | bench_test | api510-process
"""
HEADS = (
    "ref | tag | device | activity | done_on | done_by | verified_by | first_pop | as_left_pop"
    " | disposition | corrects"
)


def records(*rows: str) -> str:
    return "\n".join([HEADS, *rows])


def test_the_sheet_says_101_and_the_installation_knows_better(plant):
    """S1 leaves 101, spare S2 goes in, S1 is overhauled a month later with "101" on its sheet."""
    said = plant.must(
        positions=POSITIONS, devices=DEVICES, obligations=OWED,
        installations="""
            tag | device | installed_on | removed_on
            101 | S1 | 2019-01-01 | 2024-03-01
            101 | S2 | 2024-03-01 |
        """,
        inspections=records(
            "A | 101 | S1 | overhaul | 2018-12-01 | Ann | Bo | | 150 psig | |",
            "B | | S2 | bench_test | 2024-02-10 | Ann | Bo | 150 psig | 150 psig | |",
            "C | 101 | S1 | overhaul | 2024-04-01 | Ann | Bo | 151 psig | 150 psig | |",
        ),
    )  # fmt: skip
    assert plant.due_of("101", "2024-02-29")["due_on"] == "2023-12-01"
    for day in ("2024-03-01", "2024-04-01", "2026-11-25"):
        row = plant.due_of("101", day)
        assert (row["device"], row["last_done_on"], row["due_on"]) == (
            "S2", "2024-02-10", "2029-02-10"
        )  # fmt: skip
    assert "inspections 4 tag" not in said.findings  # it stood there in the cycle before
    plant.must(installations="""
        tag | device | installed_on | removed_on
        101 | S2 | 2024-03-01 | 2025-01-10
        101 | S1 | 2025-01-10 |
    """)  # fmt: skip
    row = plant.due_of("101", "2025-01-10")
    assert (row["device"], row["due_on"]) == ("S1", "2029-04-01")
    assert plant.due_of("101", "2025-01-09")["due_on"] == "2029-02-10"


def test_a_late_record_replays_every_position_the_device_served_since(plant):
    plant.must(positions=POSITIONS, devices=DEVICES, obligations=OWED + "102 | bench_test |"
               " api510-process",
               installations="""
                   tag | device | installed_on | removed_on
                   101 | S1 | 2020-01-01 | 2022-01-01
                   102 | S1 | 2022-01-01 |
               """)  # fmt: skip
    assert plant.due_of("102", "2023-01-01")["status"] == "no_record"
    plant.must(inspections=records(
        "A | | S1 | bench_test | 2019-12-15 | Ann | Bo | 150 psig | 150 psig | reinstalled |"
    ))  # fmt: skip
    assert plant.due_of("101", "2021-01-01")["due_on"] == "2024-12-15"
    assert plant.due_of("101", "2023-01-01")["status"] == "no_device"
    assert plant.due_of("102", "2023-01-01")["due_on"] == "2024-12-15"


def test_spells_are_half_open(plant):
    """Out at 101 and in at 102 on one day is legal; on that day it counts for 102."""
    plant.must(positions=POSITIONS, devices=DEVICES, obligations=OWED + "102 | bench_test |"
               " api510-process",
               installations="""
                   tag | device | installed_on | removed_on
                   101 | S1 | 2020-01-01 | 2022-01-01
                   102 | S1 | 2022-01-01 |
               """)  # fmt: skip
    before, on = plant.due("2021-12-31"), plant.due("2022-01-01")
    assert {row["tag"]: row["device"] for row in before} == {"101": "S1", "102": None}
    assert {row["tag"]: row["device"] for row in on} == {"101": None, "102": "S1"}


SHELVES = [
    # made 2020-01-01, fitted 2020-03-01, tested 2021-01-10, fitted again 2021-02-20
    ("done_on", "", "2021-02-20", "2026-01-10", "compliant"),
    ("installed_on", "", "2020-03-01", "2025-03-01", "compliant"),
    ("installed_on", "", "2021-02-20", "2026-02-20", "compliant"),
    ("installed_on", "P1M", "2021-02-20", None, "no_record"),
    ("installed_on", "P2M", "2021-02-20", "2026-02-20", "compliant"),
]


@pytest.mark.parametrize(("counts_from", "shelf", "day", "due_on", "status"), SHELVES)
def test_what_counts_from_and_how_long_it_may_lie(plant, counts_from, shelf, day, due_on, status):
    plant.must(
        positions=POSITIONS, devices=DEVICES,
        obligations=f"""
            tag | activity | rule | counts_from | shelf_limit
            101 | bench_test | api510-process | {counts_from} | {shelf}
        """,
        installations="""
            tag | device | installed_on | removed_on
            101 | S1 | 2020-03-01 | 2021-01-05
            101 | S1 | 2021-02-20 |
        """,
        inspections=records(
            "A | | S1 | bench_test | 2020-01-01 | Ann | Bo | 150 psig | 150 psig | reinstalled |",
            "B | | S1 | bench_test | 2021-01-10 | Ann | Bo | 150 psig | 150 psig | reinstalled |",
        ),
    )  # fmt: skip
    row = plant.due_of("101", day)
    assert (row["due_on"], row["status"]) == (due_on, status), row["reason"]


def test_a_new_test_after_too_long_a_shelf_counts_again(plant):
    plant.must(
        positions=POSITIONS, devices=DEVICES,
        obligations="""
            tag | activity | rule | counts_from | shelf_limit
            101 | in_place_test | api510-process | installed_on | P1Y
        """,
        installations="tag | device | installed_on\n101 | S1 | 2021-01-02",
        inspections=records(
            "A | | S1 | overhaul | 2020-01-01 | Ann | Bo | 150 psig | 150 psig | reinstalled |",
            "B | | S1 | in_place_test | 2021-05-05 | Ann | Bo | 150 psig | 150 psig"
            " | reinstalled |",
        ),
    )  # fmt: skip
    assert plant.due_of("101", "2021-05-04")["status"] == "no_record"
    assert plant.due_of("101", "2021-05-05")["due_on"] == "2026-05-05"


def test_commissioned_on_counts_only_until_something_was_done(plant):
    plant.must(
        positions="""
            site | tag | unit | set_pressure | tolerance | commissioned_on
            Northmere | 101 | Stills | 150 psig | asme8 | 2018-06
        """,
        devices=DEVICES,
        obligations="""
            tag | activity | rule | counts_from
            101 | bench_test | api510-process | commissioned_on
        """,
        installations="tag | device | installed_on\n101 | S1 | 2018-06-15",
        inspections=records(
            "A | | S1 | bench_test | 2020-01-01 | Ann | Bo | 150 psig | 150 psig | reinstalled |"
        ),
    )  # fmt: skip
    assert plant.due_of("101", "2019-12-31")["due_on"] == "2023-06-01"  # its earliest day
    assert plant.due_of("101", "2020-01-01")["due_on"] == "2025-01-01"


NOT_COUNTED = {
    "nobody verified it and it was left open": (
        "| Ann | | 150 psig | 150 psig | reinstalled |", "--leave-unverified"),
    "scrapped": ("| Ann | Bo | 150 psig | | scrapped |",),
    "returned untested": ("| Ann | Bo | | | returned_untested |",),
    "as left outside tolerance": ("| Ann | Bo | 150 psig | 155 psig | |",),
    "as left missing": ("| Ann | Bo | 150 psig | | |",),
    "replaced": ("| Ann | Bo | 150 psig | 150 psig | replaced |",),
}  # fmt: skip


@pytest.mark.parametrize("name", NOT_COUNTED)
def test_what_does_not_count(plant, name):
    cells, *options = NOT_COUNTED[name]
    plant.must(
        *options,
        positions=POSITIONS, devices=DEVICES, obligations=OWED,
        installations="tag | device | installed_on\n101 | S1 | 2018-06-15",
        inspections=records(
            "A | | S1 | bench_test | 2020-01-01 | Ann | Bo | 150 psig | 150 psig | |",
            f"B | | S1 | bench_test | 2023-01-01 {cells}",
        ) if not options else records(f"B | | S1 | bench_test | 2023-01-01 {cells}"),
    )  # fmt: skip
    row = plant.due_of("101", "2024-01-01")
    expected = (None, "no_record") if options else ("2025-01-01", "compliant")
    assert (row["due_on"], row["status"]) == expected


def test_a_failure_found_and_put_right_counts(plant):
    plant.must(
        positions=POSITIONS, devices=DEVICES, obligations=OWED,
        installations="tag | device | installed_on\n101 | S1 | 2018-06-15",
        inspections=records(
            "A | | S1 | bench_test | 2023-01-01 | Ann | Bo | 170 psig | 150 psig | |"
        ),
    )  # fmt: skip
    assert plant.due_of("101", "2024-01-01")["due_on"] == "2028-01-01"


def test_a_correction_takes_the_place_of_what_it_corrects(plant):
    first = "A | | S1 | bench_test | 2023-01-01 | Ann | Bo | 150 psig | 150 psig | |"
    plant.must(
        positions=POSITIONS, devices=DEVICES, obligations=OWED,
        installations="tag | device | installed_on\n101 | S1 | 2018-06-15",
        inspections=records(
            "0 | | S1 | bench_test | 2019-01-01 | Ann | Bo | 150 psig | 150 psig | |", first
        ),
    )  # fmt: skip
    assert plant.due_of("101", "2024-01-01")["due_on"] == "2028-01-01"
    plant.must(inspections=records(
        "B | | S1 | bench_test | 2022-01-01 | Ann | Bo | 150 psig | 150 psig | | A"
    ))  # fmt: skip
    assert plant.due_of("101", "2024-01-01")["due_on"] == "2027-01-01"
    assert plant.due_of("101", "2021-12-31")["due_on"] == "2024-01-01"
    plant.must(inspections=records(
        "C | | S1 | bench_test | 2022-01-01 | Ann | Bo | 150 psig | 160 psig | | B"
    ))  # fmt: skip
    assert plant.due_of("101", "2024-01-01")["due_on"] == "2024-01-01"  # only "0" is left


SATISFIED = [
    ("overhaul", "bench_test", True),
    ("overhaul", "lever", True),
    ("bench_test", "in_place_test", True),
    ("in_place_test", "lever", True),
    ("in_place_test", "bench_test", False),  # API RP 576 6.3
    ("bench_test", "overhaul", False),
    ("overhaul", "visual", False),  # a shop test sees nothing of the piping
    ("visual", "lever", False),
    ("visual", "visual", True),
]


@pytest.mark.parametrize(("done", "owed", "is_satisfied"), SATISFIED)
def test_what_satisfies_what(plant, done, owed, is_satisfied):
    plant.must(
        positions=POSITIONS, devices=DEVICES,
        obligations=f"tag | activity | rule\n101 | {owed} | api510-process",
        installations="tag | device | installed_on\n101 | S1 | 2018-06-15",
        inspections=records(
            f"A | | S1 | {done} | 2023-01-01 | Ann | Bo | 150 psig | 150 psig | reinstalled |"
        ),
    )  # fmt: skip
    row = plant.due_of("101", "2024-01-01")
    assert row["due_on"] == ("2028-01-01" if is_satisfied else None)


def test_a_partial_date_counts_from_its_earliest_day(plant):
    plant.must(
        positions=POSITIONS, devices=DEVICES, obligations=OWED,
        installations="tag | device | installed_on\n101 | S1 | 2010",
        inspections=records(
            "A | | S1 | bench_test | 2011-03 | Ann | Bo | 150 psig | 150 psig | |"
        ),
    )  # fmt: skip
    assert plant.due_of("101", "2012-01-01")["due_on"] == "2016-03-01"
    assert b",2011-03," in plant.export()["inspections"]


def test_no_device_is_not_no_record_and_each_position_is_a_row(plant):
    plant.must(positions=POSITIONS + "Northmere | 103 | Stills | 50 psig | asme8\n"
               "Northmere | 104 | Stills | 50 psig | asme8", devices=DEVICES,
               obligations=OWED + "102 | bench_test | api510-process",
               installations="tag | device | installed_on\n102 | S1 | 2018-06-15\n"
               "104 | S2 | 2018-06-15")  # fmt: skip
    found = {row["tag"]: row["status"] for row in plant.due("2024-01-01")}
    assert found == {
        "101": "no_device", "102": "no_record", "103": "no_device", "104": "no_obligation"
    }  # fmt: skip


def test_what_sets_no_clock_is_said(plant):
    said = plant.must(
        positions=POSITIONS, devices=DEVICES, obligations=OWED,
        installations="tag | device | installed_on\n101 | S1 | 2018-06-15",
        inspections=records(
            "A | | S1 | bench_test | 2020-01-01 | Ann | Bo | 150 psig | 150 psig | |",
            "B | | S1 | bench_test | 2023-01-01 | Ann | Bo | 150 psig | 155 psig | |",
        ),
    )  # fmt: skip
    assert said.notes == ["inspections 3 disposition"]
