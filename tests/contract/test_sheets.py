"""Arrangements, triggers, counters, days out of service: in, again, out, and what is refused.

Each check is the workbook's own contract unless it names another source.
"""

import pytest

PLACES = """
    site | tag | unit | set_pressure | equipment | equipment_mawp
    Northmere | PSV-1 | Stills | 150 psig | V-1 | 150 psig
    Northmere | PSV-2 | Stills | 157.5 psig | V-1 | 150 psig
    Northmere | RD-1 | Stills | 150 psig | V-2 | 150 psig
"""
JOINED = "arrangement | kind | tag | role\n"
PAIR = JOINED + "A1 | changeover | PSV-1 | duty\nA1 | changeover | PSV-2 | standby"
TOLD = "tag | kind | happened_on | note\nPSV-1 | release | 2024-02-26 | flare"
READ = "tag | counter | read_on | value\n"
READINGS = READ + "PSV-1 | service_days | 2024-01-01 | 100\nPSV-1 | service_days | 2024-03-01 | 130"
OUT = "tag | from_on | to_on | how | by\n"
LAID_UP = OUT + "PSV-1 | 2024-01-01 | 2024-03-01 | blinded | Ann Lowe\nPSV-1 | 2024-06-01 | | |"


@pytest.fixture
def stocked(plant):
    plant.must(positions=PLACES, arrangements=PAIR, triggers=TOLD, counters=READINGS,
               out_of_service=LAID_UP)  # fmt: skip
    return plant


def test_loading_twice_changes_nothing(stocked):
    before = stocked.export()
    said = stocked.must(
        positions=PLACES, arrangements=PAIR, triggers=TOLD, counters=READINGS,
        out_of_service=LAID_UP,
    )  # fmt: skip
    assert stocked.export() == before and "added" not in said.out
    assert not said.notes


def refused(plant, **sheets):
    """What is refused, and nothing of it written."""
    before = plant.export()
    said = plant.load(**sheets)
    assert said.failed and plant.export() == before
    for row in said.rows:
        assert row["expected"] and row["row"] and row["column"], row
    return said.faults


def test_what_was_told_is_never_rewritten(stocked):
    assert refused(
        stocked,
        triggers="tag | kind | happened_on | note\nPSV-1 | release | 2024-02-26 | another",
        counters=READ + "PSV-1 | service_days | 2024-01-01 | 101",
        out_of_service=OUT + "PSV-1 | 2024-01-01 | 2024-03-02 | | \n PSV-1 | 2024-06-01 | | x |",
    ) == [
        "triggers 2 note", "counters 2 value", "out_of_service 2 to_on", "out_of_service 3 how",
    ]  # fmt: skip


def test_a_return_given_later_closes_what_is_open(stocked):
    said = stocked.must(out_of_service=OUT + "PSV-1 | 2024-06-01 | 2024-07-01 | |")
    assert "out of service ended" in said.out
    rows = stocked.export()["out_of_service"].decode().splitlines()
    assert rows[2] == "Northmere,PSV-1,2024-06-01,2024-07-01,,"
    stocked.must(out_of_service=OUT + "PSV-1 | 2024-07-01 | | | not recorded")


@pytest.mark.parametrize(
    ("lines", "row"),
    [
        ("PSV-1 | 2024-02-01 | 2024-02-10 | |", 2),  # inside what stands
        ("PSV-1 | 2024-07-01 | 2024-08-01 | |", 2),  # it has not returned
        ("PSV-1 | 2023-12-01 | 2024-01-02 | |", 2),  # into what stands
        ("PSV-2 | 2024-01-01 | 2024-02-01 | |\nPSV-2 | 2024-01-31 | 2024-03-01 | |", 3),
        ("PSV-2 | 2024-01-01 | | |\nPSV-2 | 2024-03-01 | | |", 3),
    ],
)
def test_days_out_of_service_share_no_day(stocked, lines, row):
    assert refused(stocked, out_of_service=OUT + lines) == [f"out_of_service {row} from_on"]


def test_out_and_back_and_out_on_one_day_is_legal(stocked):
    stocked.must(out_of_service=OUT + "PSV-1 | 2024-03-01 | 2024-06-01 | |")


def test_it_returns_after_it_went_out(stocked):
    said = refused(stocked, out_of_service=OUT + "PSV-2 | 2024-03-01 | 2024-03-01 | |")
    assert said == ["out_of_service 2 to_on"]


@pytest.mark.parametrize(
    ("lines", "row"),
    [
        ("PSV-1 | service_days | 2024-02-01 | 99.9999", 2),  # below what stood before it
        ("PSV-1 | service_days | 2024-02-01 | 130.5", 2),  # above what stands after it
        ("PSV-1 | service_days | 2024-04-01 | 129", 2),
        ("PSV-2 | starts | 2024-04-01 | 7\nPSV-2 | starts | 2024-05-01 | 6", 3),
        ("PSV-2 | starts | 2024-05-01 | 6\nPSV-2 | starts | 2024-04-01 | 7", 2),
    ],
)
def test_a_counter_never_runs_back(stocked, lines, row):
    assert refused(stocked, counters=READ + lines) == [f"counters {row} value"]


def test_counters_stand_beside_each_other(stocked):
    stocked.must(counters=READ + "PSV-1 | starts | 2024-04-01 | 7\nPSV-1 | starts | 2024-05-01 | 7")


def test_nothing_has_happened_in_the_future(stocked):
    """The clock stands at 2026-11-25."""
    assert refused(
        stocked,
        triggers="tag | kind | happened_on\nPSV-1 | release | 2026-11-26",
        counters=READ + "PSV-1 | service_days | 2026-11-26 | 200",
        out_of_service=OUT + "PSV-2 | 2026-11-26 | | |",
    ) == ["triggers 2 happened_on", "counters 2 read_on", "out_of_service 2 from_on"]


def test_cells_that_cannot_be_read(stocked):
    assert refused(
        stocked,
        arrangements=JOINED + "A2 | pair | PSV-1 | duty\nA2 | pilot | PSV-1 | boss",
        triggers="tag | kind | happened_on\nPSV-1 | blast | 2024-02-26\nPSV-9 | release | 2024-02",
        counters=READ + "PSV-1 | - | 2024-05-01 | -5\nPSV-9 | starts | 2024-05-01 | 5",
        out_of_service=OUT + "PSV-1 | n/a | | |",
    ) == [
        "arrangements 2 kind", "arrangements 3 role", "triggers 2 kind", "triggers 3 happened_on",
        "counters 2 counter", "counters 2 value", "out_of_service 2 from_on", "counters 3 tag",
    ]  # fmt: skip


def test_a_key_stands_once(stocked):
    assert refused(
        stocked,
        triggers=TOLD + "\nPSV-1 | release | 2024-02-26 | flare",
        counters=READ + "PSV-2 | starts | 2024-05-01 | 5\nPSV-2 | starts | 2024-05-01 | 5",
        out_of_service=OUT + "PSV-2 | 2024-01-01 | | |\nPSV-2 | 2024-01-01 | | |",
        arrangements=PAIR + "\nA1 | changeover | PSV-2 | standby",
    ) == [
        "arrangements 4 tag", "triggers 3 happened_on", "counters 3 read_on",
        "out_of_service 3 from_on",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "first", "second", "is_right"),
    [
        ("combination", "valve", "upstream_disc", True),
        ("combination", "valve", "valve", False),
        ("combination", "valve", "standby", False),
        ("pilot", "main", "pilot", True),
        ("pilot", "pilot", "pilot", False),
        ("changeover", "duty", "standby", True),
        ("changeover", "standby", "standby", False),
        ("changeover", "duty", "duty", False),
        ("multiple", "duty", "additional", True),
        ("multiple", "duty", "fire", True),
        ("multiple", "additional", "fire", False),
        ("multiple", "duty", "standby", False),
    ],
)
def test_the_roles_of_each_kind(plant, kind, first, second, is_right):
    plant.must(positions=PLACES)
    book = JOINED + f"A | {kind} | PSV-1 | {first}\nA | {kind} | RD-1 | {second}"
    if is_right:
        plant.must(arrangements=book)
    else:
        assert {fault[-4:] for fault in refused(plant, arrangements=book)} == {"role"}


def test_one_alone_is_no_arrangement(plant):
    plant.must(positions=PLACES)
    for kind, role in (("multiple", "duty"), ("changeover", "duty"), ("pilot", "main")):
        book = JOINED + f"A | {kind} | PSV-1 | {role}"
        assert refused(plant, arrangements=book) == ["arrangements 2 role"]


def test_an_arrangement_is_of_one_kind(stocked):
    book = JOINED + "B | combination | PSV-1 | valve\nB | pilot | RD-1 | upstream_disc"
    assert "arrangements 3 kind" in refused(stocked, arrangements=book)


def test_a_position_stands_in_one_arrangement_of_a_kind(stocked):
    book = JOINED + "B | changeover | RD-1 | duty\nB | changeover | PSV-2 | standby"
    assert refused(stocked, arrangements=book) == ["arrangements 3 tag"]
    stocked.must(arrangements=JOINED + "C | combination | PSV-1 | valve\nC | combination | RD-1 |"
                 " upstream_disc")  # fmt: skip


def test_the_two_of_a_changeover_change_places(stocked):
    swapped = JOINED + "A1 | changeover | PSV-1 | standby\nA1 | changeover | PSV-2 | duty"
    assert "arrangements changed" in stocked.must(arrangements=swapped).out
    rows = stocked.export()["arrangements"].decode().splitlines()
    assert rows[1:] == [
        "Northmere,A1,changeover,PSV-1,standby", "Northmere,A1,changeover,PSV-2,duty",
    ]  # fmt: skip


def test_a_row_joins_one_that_stands(stocked):
    stocked.must(arrangements=JOINED + "A1 | changeover | RD-1 | standby")
    assert len(stocked.export()["arrangements"].decode().splitlines()) == 4
    only = JOINED + "A1 | changeover | RD-1 | duty"
    assert refused(stocked, arrangements=only) == ["arrangements 2 role"]  # a second duty


def test_the_limit_of_the_set_pressure_goes_by_the_role(plant):
    """UG-134 (ASME BPVC Section VIII): 105 % of MAWP for an additional device. 157.5 is that of
    150; without a role nobody has said that it may."""
    assert plant.must(positions=PLACES).findings == ["positions 3 set_pressure"]


def test_an_additional_device_may_be_set_higher(plant):
    book = JOINED + "M | multiple | PSV-1 | duty\nM | multiple | PSV-2 | additional"
    assert plant.must(positions=PLACES, arrangements=book).findings == []


def test_a_role_that_contradicts_the_duty_role_is_asked(plant):
    places = PLACES.replace("equipment_mawp", "equipment_mawp | duty_role").replace(
        "V-2 | 150 psig", "V-2 | 150 psig | fire"
    )
    book = JOINED + "M | multiple | PSV-1 | duty\nM | multiple | RD-1 | additional"
    said = plant.must(positions=places, arrangements=book)
    assert "arrangements 3 role" in said.findings


BOILER = """
    tag | unit | set_pressure | equipment | equipment_mawp | duty_role
    SV-1 | B | 600 psig | B-1 | 600 psig | boiler
    SV-2 | B | 618 psig | B-1 | 600 psig | boiler
    SV-3 | B | 540 psig | B-1 | 600 psig | boiler
"""


def test_a_standby_is_no_further_valve_of_its_boiler(plant):
    """NAVEDTRA 14259: the spread of a boiler's valves is at most 10 % of the highest. 540 is too
    far from 618, and does not count while SV-3 stands by for SV-1."""
    said = plant.must("--site", "N", positions=BOILER)
    assert said.findings == ["positions 2 set_pressure"]
    assert "spread" in next(row for row in said.rows if row["severity"] == "finding")["expected"]


def test_a_standby_of_a_boiler_is_left_out(plant):
    book = JOINED + "A | changeover | SV-1 | duty\nA | changeover | SV-3 | standby"
    assert plant.must("--site", "N", positions=BOILER, arrangements=book).findings == []


def test_a_site_of_its_own_goes_out_alone(stocked):
    stocked.must(
        positions="site | tag | unit | set_pressure\nS | PSV-1 | U | 10 psig",
        triggers="site | tag | kind | happened_on\nS | PSV-1 | release | 2024-01-01",
    )
    rows = stocked.export("one", "--site", "Northmere")
    assert b"S,PSV-1" not in rows["triggers"] and b"Northmere,PSV-1" in rows["triggers"]
