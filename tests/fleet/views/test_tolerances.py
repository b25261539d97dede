"""Set-pressure tolerances: drawn and in words, added by form, replaced from a day on."""

import csv
import io
from datetime import date

import pytest

from fleet.calc import library
from fleet.models import AuditEntry, PositionDuty, ToleranceBand
from tests import factories
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, streamed, text

pytestmark = pytest.mark.django_db
NEW = "/tolerances/new/"


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


@pytest.fixture
def engineer(unit):
    return signed_in("engineer", unit.site)


def filled(**changes):
    return {
        "code": "site-2pc",
        "citation": "Procedure 12",
        "basis": "gauge",
        "low_1": "-2 %",
        "high_1": "2 %",
        **changes,
    }


def named(unit, tag, band, **extra):
    """A position whose duty names a tolerance."""
    place = factories.PositionFactory(unit=unit, tag=tag)
    factories.PositionDutyFactory(position=place, tolerance=band, **extra)
    return place


def test_every_tolerance_of_the_library_is_listed_and_drawn(engineer):
    page = text(engineer.get("/tolerances/"))
    for code, row in library.tolerances().items():
        assert f'href="/tolerances/{code}/"' in page
        own = text(engineer.get(f"/tolerances/{code}/"))
        assert own.count("of set pressure") >= len(row.bands)


def test_a_band_says_whom_it_serves():
    """ASME BPVC Section VIII, UG-134(d): 2 psi up to and including 70 psi, 3 % above."""
    client = signed_in("auditor", factories.SiteFactory())
    page = text(client.get("/tolerances/asme8/"))
    assert "set in US units, up to 70 psig" in page and "−2 psig" in page and "+3 %" in page
    assert "15 psig" in page and "below it the owner specifies" in page
    assert "/replace/" not in page


def test_it_counts_the_duty_that_holds_today(engineer, unit):
    one, other = (factories.ToleranceBandFactory(code=f"own-{n}") for n in "ab")
    place = named(unit, "PSV-1", one)
    factories.PositionDutyFactory(position=place, tolerance=other, from_on=date(2026, 1, 1))
    named(unit, "PSV-2", one)
    later = named(unit, "PSV-3", one)
    factories.PositionDutyFactory(position=later, tolerance=other, from_on=date(2027, 1, 1))
    named(factories.UnitFactory(), "PSV-9", one)
    body = streamed(engineer.get("/tolerances/?export=csv")).decode()
    rows = {row["id"]: row for row in csv.DictReader(io.StringIO(body))}
    assert (rows["own-a"]["positions"], rows["own-b"]["positions"]) == ("2", "1")
    assert rows["asme8"]["checked"] == "yes" and rows["disc"]["checked"] == "no"


def test_a_tolerance_is_added(engineer):
    sent = filled(
        up_to_1="70 psig", low_1="-2 psig", high_1="2 psig", system_1="us",
        low_3="-3 %", high_3="3 %", floor_3="1 psig", covers_from="15 psig", reseats_from="90 %",
    )  # fmt: skip
    response = engineer.post(NEW, sent)
    assert response.status_code == 302, response.context["form"].errors
    row = ToleranceBand.objects.get()
    assert row.definition == {
        "basis": "gauge",
        "covers_from": "15 psig",
        "reseats_from": "90 %",
        "bands": [
            {"up_to": "70 psig", "low": "-2 psig", "high": "2 psig", "system": "us"},
            {"low": "-3 %", "high": "3 %", "floor": "1 psig"},
        ],
    }
    assert AuditEntry.objects.get().action == "tolerance added"
    assert "our own" in text(engineer.get("/tolerances/"))


@pytest.mark.parametrize(
    ("changes", "box", "said"),
    [
        ({"low_1": "2 %"}, "low_1", "zero, or with a minus sign"),
        ({"high_1": "-2 %"}, "high_1", "zero or more"),
        ({"high_1": ""}, "high_1", "required"),
        ({"low_1": "two"}, "low_1", "expected"),
        ({"low_2": "-3 %"}, "low_2", "how far high"),
        ({"low_2": "-3 %", "high_2": "3 %"}, "low_1", "rows that rise"),
        ({"basis": "absolute"}, "atmosphere", "an atmosphere goes with the absolute basis"),
        ({"code": "asme8"}, "code", "an id that the library does not have"),
        ({"code": "A"}, "code", "letters, figures"),
        ({"floor_1": "0 barg"}, "floor_1", "above zero"),
    ],
)
def test_what_is_wrong_is_said_at_its_box(engineer, changes, box, said):
    response = engineer.post(NEW, filled(**changes))
    assert response.status_code == 422
    assert list(response.context["form"].errors) == [box] and said in text(response)
    assert not ToleranceBand.objects.exists()


def test_replacing_shows_the_duties_and_then_changes_them(engineer, unit):
    old = factories.ToleranceBandFactory(code="own-3pc")
    place = named(unit, "PSV-1", old)
    sent = filled(from_on="2027-01-01")
    seen = engineer.post("/tolerances/own-3pc/replace/", sent)
    assert "PSV-1" in text(seen) and "The duty of <b>1</b> position names" in text(seen)
    assert PositionDuty.objects.count() == 1
    sent["seen"] = seen.context["seen"]["key"]
    assert engineer.post("/tolerances/own-3pc/replace/", sent).status_code == 302
    duties = PositionDuty.objects.filter(position=place).order_by("-from_on")
    held = {duty.from_on: duty.tolerance.code for duty in duties}
    assert held == {None: "own-3pc", date(2027, 1, 1): "site-2pc"}


def test_no_band_of_the_old_one_is_left_behind(engineer):
    """The boxes hold every band there is, however many: none is dropped without a word."""
    bands = [{"up_to": f"{n}00 psig", "low": f"-{n} %", "high": f"{n} %"} for n in range(1, 7)]
    old = factories.ToleranceBandFactory(
        code="own-six", definition={"basis": "gauge", "bands": bands}
    )
    form = engineer.get("/tolerances/own-six/replace/").context["form"]
    typed = {field.name: field.value() or "" for field in form}
    sent = {**typed, "code": "own-seven", "citation": "Procedure 13", "from_on": "2027-01-01"}
    sent["is_verified"] = ""
    response = engineer.post("/tolerances/own-six/replace/", sent)
    sent["seen"] = response.context["seen"]["key"]
    engineer.post("/tolerances/own-six/replace/", sent)
    new = ToleranceBand.objects.get(replaces=old)
    assert new.definition["bands"] == bands


def test_duties_where_he_is_no_engineer_are_not_his_to_change(engineer, unit):
    old = factories.ToleranceBandFactory(code="own-3pc")
    named(unit, "PSV-1", old)
    named(factories.UnitFactory(), "PSV-9", old)
    response = engineer.post("/tolerances/own-3pc/replace/", filled(from_on="2027-01-01"))
    assert "you are no engineer" in text(response) and "PSV-9" not in text(response)
    sent = filled(from_on="2027-01-01", seen=response.context["seen"]["key"])
    engineer.post("/tolerances/own-3pc/replace/", sent)
    assert ToleranceBand.objects.count() == 1


def test_a_duty_of_a_later_day_stands_in_the_way(engineer, unit):
    old = factories.ToleranceBandFactory(code="own-3pc")
    place = named(unit, "PSV-1", old)
    factories.PositionDutyFactory(position=place, tolerance=old, from_on=date(2028, 1, 1))
    response = engineer.post("/tolerances/own-3pc/replace/", filled(from_on="2027-01-01"))
    assert response.status_code == 422 and "PSV-1 recorded from then names" in text(response)


def test_the_list_costs_the_same_for_three_and_thirty(
    engineer, unit, django_assert_max_num_queries
):
    def more(first, last):
        for number in range(first, last):
            band = factories.ToleranceBandFactory(code=f"own-{number:02}")
            named(unit, f"PSV-{number}", band)

    more(0, 3)
    with django_assert_max_num_queries(9) as few:
        engineer.get("/tolerances/")
    more(3, 30)
    with django_assert_max_num_queries(len(few.captured_queries)):
        engineer.get("/tolerances/")
