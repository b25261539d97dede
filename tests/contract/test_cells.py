"""Cells are what people type: read exactly, or refused by sheet, row and column.

Each check is the workbook's own contract unless it names another source.
"""

import csv
import io

import pytest

HEADS = "site | tag | unit | set_pressure"
DEVICES = "device | kind\nD-1 | spring\nD-2 | spring"
FITTED = "tag | device | installed_on\nPSV-1 | D-1 | 2020-01-10\nPSV-2 | D-2 | 2020-01-11"
PLACES = "site | tag | unit | set_pressure\nN | PSV-1 | U | 150 psig\nN | PSV-2 | U | 150 psig"


def table(text: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text.decode(), newline="")))


def place(plant, cell, *options, column="set_pressure"):
    return plant.load(
        *options, positions=f"site | tag | unit | {column}\nNorthmere | PSV-1 | Stills | {cell}"
    )


GOOD = [
    "150 psig", "10.3 barg", "1035 kPag", "7 kg/cm2g", "-0.5 kPag", "25 mmH2Og", "100 mbarg",
    "3 inH2Og", "4 oz/in2g", "1.035 MPag", "150psig", "10,3 barg", "2 1/2 psig", "150 PSIG",
]  # fmt: skip


@pytest.mark.parametrize("cell", GOOD)
def test_a_pressure_is_kept_as_typed(plant, cell):
    said = place(plant, cell)
    assert not said.failed and not said.findings, said.rows
    assert table(plant.export()["positions"])[0]["set_pressure"] == cell


@pytest.mark.parametrize("cell", ["150 psi", "10 bar", "1035 kPa", "1 MPa", "7 kg/cm2"])
def test_a_bare_unit_means_gauge_and_is_asked_about(plant, cell):
    said = place(plant, cell)
    assert not said.failed and said.findings == ["positions 2 set_pressure"]
    assert "assumed" in said.rows[0]["expected"] and said.rows[0]["typed"] == cell
    assert table(plant.export()["positions"])[0]["set_pressure"] == cell


REFUSED = [
    "150", "150 psia", "10 bara", "150 psoi", "1,035 kPag", "9**9**9", "21 1/2/3 psig", "1e3 psig",
    "ca. 150 psig", "150 psig 160 psig", "n/a", "-", "TBC", "", "!clear", "1.035,5 kPag",
    "150 degC", "1 000 psig", "5/0 psig", "\N{ARABIC-INDIC DIGIT THREE} psig",
    "not recorded",
]  # fmt: skip


@pytest.mark.parametrize("cell", REFUSED)
def test_what_is_no_gauge_pressure_is_a_fault(plant, cell):
    said = place(plant, cell)
    assert said.failed and said.faults == ["positions 2 set_pressure"]
    assert said.rows[0]["typed"] == cell and said.rows[0]["expected"]
    assert "positions, row 2, set_pressure" in said.err
    assert plant.due("2026-01-01") == []


@pytest.mark.parametrize(
    ("cell", "mark", "kept"),
    [("1,035 kPag", ".", "1035 kPag"), ("1,035 kPag", ",", "1.035 kPag"),
     ("1,035.5 kPag", ".", "1035.5 kPag")],
)  # fmt: skip
def test_a_named_decimal_mark_settles_the_comma(plant, cell, mark, kept):
    assert not place(plant, cell, "--decimal-mark", mark).failed
    assert table(plant.export()["positions"])[0]["set_pressure"] == kept


def test_the_unit_may_stand_in_the_header(plant):
    said = place(plant, "150", column="set_pressure [psig]")
    assert not said.failed and not said.findings
    assert table(plant.export()["positions"])[0]["set_pressure"] == "150 psig"


@pytest.mark.parametrize(
    ("header", "cell", "place_"),
    [("set_pressure [psia]", "150", "positions 1 set_pressure"),
     ("set_pressure [parsec]", "150", "positions 1 set_pressure"),
     ("set_pressure [psig]", "10 barg", "positions 2 set_pressure")],
)  # fmt: skip
def test_a_header_unit_that_cannot_be(plant, header, cell, place_):
    said = place(plant, cell, column=header)
    assert said.failed and place_ in said.faults, said.rows


def test_a_header_unit_that_does_not_say_gauge_is_asked_about(plant):
    said = place(plant, "150", column="set_pressure [psi]")
    assert not said.failed and said.findings == ["positions 2 set_pressure"]


DAYS = [
    ("2020-01-09", "2020-01-09"), ("2011-03", "2011-03"), ("2011", "2011"),
]  # fmt: skip


@pytest.mark.parametrize(("cell", "kept"), DAYS)
def test_a_day_is_kept_as_typed(plant, cell, kept):
    plant.must(positions=PLACES, devices=DEVICES,
               installations=f"tag | device | installed_on\nPSV-1 | D-1 | {cell}")  # fmt: skip
    assert table(plant.export()["installations"])[0]["installed_on"] == kept


BAD_DAYS = ["03/04/2025", "3.4.2025", "2025-02-30", "2025-13", "45000", "yesterday", "25-04-03",
            "2025/04/03", "20250403", "2026-11-26", "2027", "0024-01-01", "not recorded",
            "2025-04-03T00:00:00", "n/a"]  # fmt: skip


@pytest.mark.parametrize("cell", BAD_DAYS)
def test_what_is_no_day_is_a_fault(plant, cell):
    spells = f"tag | device | installed_on\nPSV-1 | D-1 | {cell}"
    said = plant.load(positions=PLACES, devices=DEVICES, installations=spells)
    assert said.failed and said.faults == ["installations 2 installed_on"], said.rows
    assert said.rows[0]["typed"] == cell


@pytest.mark.parametrize(("order", "kept"), [("DMY", "2025-04-03"), ("MDY", "2025-03-04")])
def test_a_named_order_settles_the_day(plant, order, kept):
    plant.must("--date-order", order, positions=PLACES, devices=DEVICES,
               installations="tag | device | installed_on\nPSV-1 | D-1 | 03/04/2025")  # fmt: skip
    stored = plant.due_of("PSV-1", kept)
    assert stored["device"] == "D-1"
    first = table(plant.export()["installations"])[0]["installed_on"]
    assert first == kept


LENGTHS = ["5/16 in", "1 3/8 in", "12.5 mm", "1⅜ in", "⅝ in", "1-3/8 in", '5/16"', "-5/16 in"]


@pytest.mark.parametrize("cell", [*LENGTHS, "-7 notches", "15 1/4 turns", "0 notches", "15¼ turns"])
def test_a_setting_is_kept_as_typed(plant, cell):
    measure = "length" if cell in LENGTHS else cell.split()[-1]
    plant.must(
        positions=PLACES, devices="device | model | kind\nD-1 | Q2 | spring",
        setting_points="model | setting | measure | datum | positive\n"
        f"Q2 | lower_ring | {measure} | flat on seat | up",
        inspections="ref | device | activity | done_on | done_by\n"
        "I | D-1 | overhaul | 2020-01-01 | Ann",
        settings=f"ref | setting | stage | value\nI | lower_ring | as_left | {cell}",
    )  # fmt: skip
    assert table(plant.export()["settings"])[0]["value"] == cell
    assert plant.review("D-1", "lower_ring")["last_as_left"] == cell


def test_empty_leaves_and_clear_clears(plant):
    plant.must(positions="site | tag | unit | set_pressure | fluid | note | vacuum_set\n"
               "N | PSV-1 | U | 150 psig | naphtha | hot | -0.5 kPag")  # fmt: skip
    plant.must(positions="site | tag | unit | set_pressure | note\nN | PSV-1 | U | 150 psig |")
    assert table(plant.export()["positions"])[0]["note"] == "hot"
    plant.must(
        positions="site | tag | unit | set_pressure | note\nN | PSV-1 | U | 150 psig | !clear"
    )
    row = table(plant.export()["positions"])[0]
    assert (row["note"], row["fluid"], row["vacuum_set"]) == ("", "naphtha", "-0.5 kPag")
    plant.must(
        positions="site | tag | unit | set_pressure | fluid\nN | PSV-1 | U | 150 psig | !clear"
    )
    exported = plant.export()
    change = table(exported["changes"])[0]
    assert (change["field"], change["from_on"], change["value"]) == (
        "fluid", "2026-11-25", "!clear"
    )  # fmt: skip


def test_people_and_days_of_an_old_record_may_be_not_recorded(plant):
    plant.must(positions=PLACES, devices=DEVICES, installations=FITTED,
               inspections="ref | device | activity | done_on | done_by\n"
               "I | D-1 | overhaul | not recorded | not recorded")  # fmt: skip
    row = table(plant.export()["inspections"])[0]
    assert (row["done_on"], row["done_by"]) == ("not recorded", "not recorded")


@pytest.mark.parametrize("cell", ["yes", "no", "Yes", ""])
def test_yes_and_no(plant, cell):
    heads = "model | setting | measure | datum | positive | required"
    row = f"Q2 | lower_ring | notches | flat | up | {cell}"
    assert not plant.load(setting_points=f"{heads}\n{row}").failed


@pytest.mark.parametrize("cell", ["true", "1", "y", "maybe"])
def test_neither_yes_nor_no(plant, cell):
    heads = "model | setting | measure | datum | positive | required"
    row = f"Q2 | lower_ring | notches | flat | up | {cell}"
    assert plant.load(setting_points=f"{heads}\n{row}").faults == ["setting_points 2 required"]


LOOKALIKES = {
    "composed and decomposed letters": ("Gr\u00f6\u00dfe", "Gro\u0308\u00dfe"),
    "a space that does not break": ("PSV 1", "PSV\u00a01"),
    "spaces around": ("PSV-1", " PSV-1\u3000"),
}


@pytest.mark.parametrize("name", LOOKALIKES)
def test_what_looks_alike_is_one_tag(plant, name):
    """Unicode Standard Annex 15: both forms are the same text."""
    first, second = LOOKALIKES[name]
    plant.must(positions=f"site | tag | unit | set_pressure\nN | {first} | U | 1 psig")
    again = plant.must(positions=f"site | tag | unit | set_pressure\nN | {second} | U | 1 psig")
    assert "nothing to change" in again.out


@pytest.mark.parametrize("tag", ["PSV-1\u200b", "PSV\u202e1", "PSV\u20601", "PSV\x071"])
def test_a_tag_hides_nothing(plant, tag):
    said = plant.load(positions=f"site | tag | unit | set_pressure\nN | {tag} | U | 1 psig")
    assert said.faults == ["positions 2 tag"] and "\\" in said.rows[0]["typed"]


@pytest.mark.parametrize(
    "text", ["a\r\nb", "a\rb", "a\nb"], ids=["carriage return and line feed", "return", "feed"]
)
def test_the_lines_of_a_note_end_in_a_line_feed(plant, text):
    path = plant.folder / "positions.csv"
    path.write_text(f'site,tag,unit,set_pressure,note\r\nN,T,U,1 psig,"{text}"\r\n', newline="")
    assert not plant.load_path(path).failed
    assert table(plant.export()["positions"])[0]["note"] == "a\nb"


@pytest.mark.parametrize("cell", ["n/a", "-", "TBC"])
def test_what_stands_for_nothing_names_nothing(plant, cell):
    """Else every vessel called n/a would be one vessel, and a dash a reason."""
    said = place(plant, f"150 psig | {cell}", column="set_pressure | equipment")
    assert said.faults == ["positions 2 equipment"]
    said = plant.load(
        positions=PLACES, devices=DEVICES,
        installations=f"tag | device | installed_on | override_reason\nPSV-1 | D-1 | 2020 | {cell}",
        inspections="ref | device | activity | done_on | done_by | waived_reason\n"
        f"I | D-1 | bench_test | 2020 | Ann | {cell}",
        settings=f"ref | setting | stage | missing_reason\nI | lower_ring | as_left | {cell}",
    )  # fmt: skip
    assert said.faults == ["installations 2 override_reason", "inspections 2 waived_reason",
                           "settings 2 missing_reason"]  # fmt: skip
