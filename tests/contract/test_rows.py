"""Rows that contradict, rows that ask, rows that are only told about; and who answers for them.

Each check is the workbook's own contract unless it names another source.
"""

import pytest

from fleet.models import AuditEntry, User
from tests.contract.plant import run

POSITIONS = """
    site | tag | unit | set_pressure | tolerance
    Northmere | PSV-1 | Stills | 150 psig | asme8
    Northmere | PSV-2 | Stills | 150 psig | asme8
"""
DEVICES = "device | maker | model | kind\nD-1 | Quay | Q2 | spring\nD-2 | Quay | Q2 | spring"
FITTED = "tag | device | installed_on\nPSV-1 | D-1 | 2020-01-10\nPSV-2 | D-2 | 2020-01-11"
OWED = "tag | activity | rule\nPSV-1 | bench_test | api510-process"
RECORD = (
    "ref | device | activity | done_on | done_by | verified_by | first_pop | as_left_pop |"
    " remarks\n"
    "I-1 | D-1 | overhaul | 2024-05-02 | Ann Lowe | {verifier} | 152 psig | 150 psig | {remarks}"
)
SETTINGS = "ref | setting | stage | value | datum\nI-1 | lower_ring | as_left | -7 notches | flat"


def record(verifier="Bo Marsh", remarks="ok"):
    return RECORD.format(verifier=verifier, remarks=remarks)


@pytest.fixture
def stocked(plant):
    plant.must(positions=POSITIONS, devices=DEVICES, installations=FITTED, obligations=OWED,
               inspections=record(), settings=SETTINGS)  # fmt: skip
    return plant


@pytest.mark.parametrize("name", ["Ann Lowe", "ann lowe", " Ann  Lowe"])
def test_nobody_verifies_their_own_work(plant, name):
    said = plant.load(positions=POSITIONS, devices=DEVICES, inspections=record(name))
    assert said.faults == ["inspections 2 verified_by"]


def test_every_fault_of_a_run_is_told_and_nothing_is_written(stocked):
    before = stocked.export()
    said = stocked.load(
        positions="site | tag | unit | set_pressure\nNorthmere | PSV-3 | Stills | 1 psoi",
        devices="device | kind\nD-3 | spring\nD-4 | sprung\nD-3 | spring",
        obligations="tag | activity | rule\nPSV-2 | bench_test | nothing",
        outages="name | units | starts_on | ends_on\nA | Stills | 2027-02-01 | 2027-01-01",
    )
    assert said.failed and sorted(said.faults) == [
        "devices 3 kind", "devices 4 device", "obligations 2 rule", "outages 2 ends_on",
        "positions 2 set_pressure",
    ]  # fmt: skip
    for row in said.rows:
        assert row["expected"], row
        assert f"{row['sheet']}, row {row['row']}, {row['column']}: “{row['typed']}”" in said.err
    assert stocked.export() == before


def test_a_dry_run_says_the_same_and_writes_nothing(plant):
    sheets = {"positions": POSITIONS, "devices": DEVICES, "inspections": record()}
    dry = plant.load("--dry-run", **sheets)
    assert not dry.failed and "would write inspections added: 1" in dry.out
    assert plant.due("2026-01-01") == [] and not AuditEntry.objects.exists()
    wet = plant.must(**sheets)
    assert wet.out == dry.out.replace("would write", "wrote")


def test_loading_twice_changes_nothing(stocked):
    entries, before = AuditEntry.objects.count(), stocked.export()
    said = stocked.must(positions=POSITIONS, devices=DEVICES, installations=FITTED,
                        obligations=OWED, inspections=record(), settings=SETTINGS)  # fmt: skip
    assert "nothing to change" in said.out and said.rows == []
    assert (AuditEntry.objects.count(), stocked.export()) == (entries, before)


def test_loading_what_was_written_out_changes_nothing(stocked):
    entries = AuditEntry.objects.count()
    path = stocked.path("out")
    run("export_workbook", str(path))
    said = stocked.load_path(path)
    assert not said.failed and "nothing to change" in said.out, said.out
    assert AuditEntry.objects.count() == entries


def test_a_row_that_is_absent_is_untouched(stocked):
    before = stocked.export()
    stocked.must(
        positions="site | tag | unit | set_pressure\nNorthmere | PSV-2 | Stills | 150 psig"
    )
    assert stocked.export() == before


def test_a_locked_record_changes_only_by_correction(stocked):
    said = stocked.load(inspections=record(remarks="not ok"))
    assert said.faults == ["inspections 2 remarks"] and "corrects" in said.rows[0]["expected"]
    assert stocked.load(settings=SETTINGS.replace("-7", "-8")).faults == ["settings 2 value"]
    assert stocked.load(
        findings="ref | part | condition\nI-1 | disc | scored"
    ).faults == ["findings 2 part"]  # fmt: skip
    stocked.must(
        inspections="""
        ref | device | activity | done_on | done_by | verified_by | as_left_pop | corrects
        I-2 | D-1 | overhaul | 2024-05-02 | Ann Lowe | Bo Marsh | 150 psig | I-1
    """
    )
    again = stocked.load(
        inspections="""
        ref | device | activity | done_on | done_by | verified_by | as_left_pop | corrects
        I-3 | D-1 | overhaul | 2024-05-02 | Ann Lowe | Bo Marsh | 150 psig | I-1
    """
    )
    assert again.faults == ["inspections 2 corrects"]


def test_a_corrected_reading_is_gone_from_the_review(stocked):
    stocked.must(
        inspections="""
            ref | device | activity | done_on | done_by | verified_by | as_left_pop | corrects
            I-2 | D-1 | overhaul | 2024-05-02 | Ann Lowe | Bo Marsh | 150 psig | I-1
        """,
        settings=SETTINGS.replace("I-1", "I-2").replace("-7", "4"),
    )
    row = stocked.review("D-1", "lower_ring")
    assert (row["n"], row["last_as_left"]) == (1, "4 notches")


def test_what_is_unknown_is_told_and_left_out(plant):
    said = plant.must(
        positions="note | colour | set_pressure | tag | unit | site\n"
        "hot | red | 1 psig | T | U | N",
        Notes="a\nb",
    )
    assert said.notes == ["Notes", "positions 1 colour"]
    assert plant.due_of("T", "2026-01-01")["unit"] == "U"


@pytest.mark.parametrize("column", ["tag", "unit", "set_pressure"])
def test_a_starred_column_is_required(plant, column):
    names = [name for name in ("site", "tag", "unit", "set_pressure") if name != column]
    said = plant.load(positions=" | ".join(names) + "\n" + " | ".join(["1 psig"] * 3))
    assert said.faults == [f"positions 1 {column}"]


def test_the_site_may_be_left_out_where_it_is_clear(plant):
    plant.must("--site", "Northmere", positions="tag | unit | set_pressure\nPSV-1 | U | 1 psig")
    plant.must(positions="tag | unit | set_pressure\nPSV-2 | U | 1 psig")  # the only site
    plant.must(positions="site | tag | unit | set_pressure\nSouthmere | PSV-2 | U | 2 psig")
    assert plant.load(positions="tag | unit | set_pressure\nPSV-3 | U | 1 psig").faults == [
        "positions 2 site"
    ]
    plant.must(devices="device | kind\nD-1 | spring\nD-2 | spring\nD-3 | spring",
               installations="tag | device | installed_on\nPSV-1 | D-1 | 2020-01-01")  # fmt: skip
    assert plant.load(installations="tag | device | installed_on\nPSV-2 | D-2 | 2020-01-01"
                      ).faults == ["installations 2 site"]  # fmt: skip
    plant.must("--site", "Southmere",
               installations="tag | device | installed_on\nPSV-2 | D-2 | 2020-01-01")  # fmt: skip
    found = {(r["site"], r["tag"]): r["device"] for r in plant.due("2026-01-01")}
    assert found == {("Northmere", "PSV-1"): "D-1", ("Northmere", "PSV-2"): None,
                     ("Southmere", "PSV-2"): "D-2"}  # fmt: skip
    assert len(plant.due("2026-01-01", "--site", "Southmere")) == 1
    assert set(plant.export("one", "--site", "Southmere")) == set(plant.export())
    assert b"PSV-1" not in plant.export("one", "--site", "Southmere")["positions"]


@pytest.mark.parametrize("name", ["adjusting ring", "Adjusting_Ring", "blowdown ring", "ring"])
def test_a_bare_ring_is_never_guessed(stocked, name):
    """Trade names collide: on a one-ring valve the only ring, on another the upper one."""
    sheet = f"ref | setting | stage | value | datum\nI-1 | {name} | as_found | 1 notch | flat"
    assert stocked.load(settings=sheet).faults == ["settings 2 setting"]


def test_people_named_are_inactive_accounts_as_typed(stocked):
    found = {user.name: user.is_active for user in User.objects.exclude(name="command line")}
    assert found == {"Ann Lowe": False, "Bo Marsh": False}


def test_who_answers_for_what_nobody_verified(plant):
    User.objects.create_user("eve", name="Eve Tarn")
    plant.must("--by", "eve", positions=POSITIONS, devices=DEVICES, installations=FITTED,
               obligations=OWED, inspections=record(""))  # fmt: skip
    assert plant.due_of("PSV-1", "2025-01-01")["due_on"] == "2029-05-02"
    assert plant.load("--by", "nobody", positions=POSITIONS).failed


def test_left_unverified_nothing_counts(plant):
    said = plant.must("--leave-unverified", positions=POSITIONS, devices=DEVICES,
                      installations=FITTED, obligations=OWED, inspections=record(""))  # fmt: skip
    assert plant.due_of("PSV-1", "2025-01-01")["status"] == "no_record"
    assert not said.failed


FINDINGS = {
    # 29 CFR 1910.119 citations; common practice: additional 105 %, fire 110 % of MAWP
    "a set above what its vessel allows": {
        "positions": "site | tag | unit | equipment | equipment_mawp | duty_role | set_pressure\n"
        "N | T | U | V-1 | 10.3 barg | first | 150 psig"
    },
    "a deferral approved after its date": {
        "positions": POSITIONS, "devices": DEVICES, "installations": FITTED, "obligations": OWED,
        "inspections": record(),
        "deferrals": "tag | activity | due_on | until_on | policy | reason | approved_by |"
        " approved_on\n"
        "PSV-1 | bench_test | 2025-05-02 | 2025-09-01 | simple | x | Eve | 2025-06-01"
    },
}  # fmt: skip


@pytest.mark.parametrize("name", FINDINGS)
def test_a_finding_loads_and_asks(plant, name):
    said = plant.must(**FINDINGS[name])
    assert len(said.findings) == 1, said.rows


def test_fits_exactly_at_the_limit_of_its_vessel(plant):
    said = plant.must(
        positions="site | tag | unit | equipment | equipment_mawp | duty_role | set_pressure\n"
        "N | T | U | V-1 | 1000 kPag | first | 10 barg"
    )
    assert not said.findings


def test_a_renamed_position_is_found_by_either_tag(stocked):
    rename = "tag | field | from_on | value\nPSV-1 | tag | 2025-01-01 | PSV-1A"
    stocked.must(changes=rename)
    assert "nothing to change" in stocked.must(changes=rename).out
    again = stocked.must(positions=POSITIONS, installations=FITTED)
    assert "nothing to change" in again.out and again.notes == ["positions 2 tag"]
    assert stocked.due_of("PSV-1A", "2025-01-01")["due_on"] == "2029-05-02"
    assert stocked.due_of("PSV-1", "2024-12-31")["due_on"] == "2029-05-02"


def test_a_tag_belongs_to_one_position_for_ever(stocked):
    heads = "tag | field | from_on | value\n"
    assert stocked.load(changes=heads + "PSV-1 | tag | 2025-01-01 | PSV-2").faults == [
        "changes 2 value"
    ]
    stocked.must(changes=heads + "PSV-1 | tag | 2025-01-01 | PSV-1A")
    assert stocked.load(changes=heads + "PSV-2 | tag | 2025-02-01 | PSV-1").faults == [
        "changes 2 value"
    ]


def test_a_change_told_late_is_never_silently_taken_back(stocked):
    """A duty is recorded whole from 2022; a change from 2021 that it does not know is refused."""
    heads = "tag | field | from_on | value\n"
    stocked.must(changes=heads + "PSV-1 | fluid | 2022-01-01 | steam")
    late = "PSV-1 | set_pressure | 2021-01-01 | 160 psig"
    assert stocked.load(changes=heads + late).faults == ["changes 2 from_on"]
    said = stocked.must(changes=f"{heads}{late}\nPSV-1 | set_pressure | 2022-01-01 | 150 psig")
    assert "duties changed: 1" in said.out


def test_whoever_verified_may_be_named_later(plant):
    plant.must("--leave-unverified", positions=POSITIONS, devices=DEVICES, installations=FITTED,
               obligations=OWED, inspections=record(""))  # fmt: skip
    again = plant.must(inspections=record(""))
    assert "nothing to change" in again.out and again.notes == ["inspections 2 ref"]
    assert plant.load(inspections=record("Ann Lowe")).faults == ["inspections 2 verified_by"]
    assert plant.load(inspections=record(remarks="other")).failed
    said = plant.must(inspections=record())
    assert "inspections verified: 1" in said.out
    assert plant.due_of("PSV-1", "2025-01-01")["due_on"] == "2029-05-02"
    assert "nothing to change" in plant.must(inspections=record()).out
    assert "0 differences" in run("verify_audit").out
    assert "0 differences" in run("check_due_dates").out
