"""The owner's own set-pressure tolerances: added, never rewritten, and what is refused.

Each check is the workbook's own contract unless it names another source.
"""

from datetime import date

import pytest
from django.db import transaction

from fleet import clock
from fleet.actions import rules
from fleet.models import ToleranceBand, User
from tests.contract.own import refused, sheet, written
from tests.contract.plant import run

PLACE = (
    "site | tag | unit | set_pressure | tolerance | in_service_on\nNorthmere | PSV-1 | Stills |"
    " 150 psig | {tolerance} | 2010-01-01"
)
BAND_HEADS = [
    "id", "low", "high", "floor", "basis", "atmosphere", "bands", "citation", "from_on",
]  # fmt: skip
ONE_PERCENT = {"low": "-1 %", "high": "1 %"}
BANDS = '[{"low": "-2 psig", "high": "2 psig", "up_to": "70 psig"}, {"high": "3 %", "low": "-3 %"}]'


def band(code, **cells):
    cells = {"low": "-2 %", "high": "2 %", "basis": "gauge", "citation": "ours"} | cells
    return [code, *(cells.get(name, "") for name in BAND_HEADS[1:])]


def bands(*rows):
    return sheet(BAND_HEADS, *rows)


def test_tolerances_of_the_owner_s_own(plant):
    plant.must(
        tolerances=bands(
            band("own-a", floor="0.1 barg"),
            band("own-b", low="", high="", bands=BANDS, from_on="2024-01-01"),
            band("own-c", basis="absolute", atmosphere="14.7 psia"),
        ),
        positions=PLACE.format(tolerance="own-a"),
    )
    found = written(plant, "tolerances")
    assert list(found) == ["own-a", "own-b", "own-c"]
    assert (found["own-a"]["low"], found["own-a"]["floor"]) == ("-2 %", "0.1 barg")
    assert found["own-b"]["bands"] == (
        '[{"high":"2 psig","low":"-2 psig","up_to":"70 psig"},{"high":"3 %","low":"-3 %"}]'
    )
    before = plant.export()
    plant.must(tolerances=bands(band("own-a", floor="10 kPag", low="-2.0 %"),
                                band("own-b", low="", high="", basis="", citation="")))  # fmt: skip
    assert plant.export() == before


def test_without_a_basis_gauge_is_taken_and_told(plant):
    said = plant.must(tolerances=bands(band("own-a", basis="", citation="")))
    assert said.notes == ["tolerances 2 basis", "tolerances 2 citation"]
    assert written(plant, "tolerances")["own-a"]["basis"] == "gauge"


@pytest.mark.parametrize(
    ("cells", "column"),
    [
        ({"low": "2 %"}, "low"),  # the sign is missing
        ({"high": "-2 %"}, "high"),
        ({"low": ""}, "low"),
        ({"high": ""}, "high"),
        ({"low": "-2"}, "low"),  # of what?
        ({"low": "-2 psia"}, "low"),
        ({"floor": "0 barg"}, "floor"),
        ({"floor": "3 %"}, "floor"),
        ({"basis": "absolute"}, "atmosphere"),
        ({"atmosphere": "14.7 psia"}, "atmosphere"),
        ({"basis": "absolute", "atmosphere": "14.7 psig"}, "atmosphere"),
        ({"basis": "vacuum"}, "basis"),
        ({"bands": BANDS}, "low"),  # both
        ({"low": "", "high": "", "bands": "[]"}, "bands"),
        ({"low": "", "high": "", "bands": '{"low": "-3 %"}'}, "bands"),
        ({"low": "", "high": "", "bands": '["-3 %"]'}, "bands"),
        ({"low": "", "high": "", "bands": '[{"low": "-3 %"}]'}, "bands"),
        ({"low": "", "high": "", "bands": '[{"low": -3, "high": "3 %"}]'}, "bands"),
        ({"low": "", "high": "", "bands": '[{"low": "-3 %", "high": "3 %", "x": "1"}]'}, "bands"),
        ({"low": "", "high": "", "bands": '[{"low": "-3 furlongs", "high": "3 %"}]'}, "bands"),
        ({"low": "", "high": "", "bands": '[{"low": "3 %", "high": "3 %"}]'}, "bands"),
        ({"low": "", "high": "", "bands": '[{"low": "-3 %", "high": "3 %"}, {"low": "-2 psig",'
          ' "high": "2 psig", "up_to": "70 psig"}]'}, "bands"),  # never reached
    ],
    ids=lambda value: str(value)[:70],
)  # fmt: skip
def test_tolerances_that_cannot_be(plant, cells, column):
    plant.must(positions=PLACE.format(tolerance="asme8"))
    refused(plant, f"tolerances 2 {column}", tolerances=bands(band("own-a", **cells)))


@pytest.mark.parametrize("code", ["own-a", "iso4126"])
def test_a_tolerance_is_never_rewritten(plant, code):
    plant.must(tolerances=bands(band("own-a")))
    row = refused(plant, "tolerances 2 low",
                  tolerances=bands(band(code, low="-1 %", citation="")))  # fmt: skip
    assert "give a new id that replaces it" in row["expected"]


def test_a_position_that_names_a_broken_tolerance_is_not_told_again(plant):
    refused(plant, "tolerances 2 low", tolerances=bands(band("own-a", low="2 %")),
            positions=PLACE.format(tolerance="own-a"))  # fmt: skip


def test_one_replaced_on_its_page_goes_out_and_comes_in_again(plant):
    """The changes sheet says who has it from which day on."""
    path, at = plant.path("way"), clock.now()
    with transaction.atomic():
        plant.must(tolerances=bands(band("own-a")), positions=PLACE.format(tolerance="own-a"))
        new = ToleranceBand(code="own-b", definition={"basis": "gauge", "bands": [ONE_PERCENT]})
        old, by = ToleranceBand.objects.get(), User.objects.get()
        rules.replace_tolerance(old, new, date(2024, 1, 1), by=by, at=at, moc="M-7")
        before = plant.export()
        assert not run("export_workbook", str(path)).failed
        transaction.set_rollback(True)
    said = plant.load_path(path)
    assert not said.failed and plant.export() == before, said.rows
    assert before["changes"].decode().splitlines()[1:] == [
        "Northmere,PSV-1,tolerance,2024-01-01,own-b,M-7,"
    ]
