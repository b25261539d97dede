"""The box that finds: one exact hit goes straight there, in the reader's own sites only."""

import pytest

from tests import factories
from tests.fleet.reports import plant
from tests.fleet.views.signed_in import signed_in, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


@pytest.fixture
def mechanic(unit):
    return signed_in("mechanic", unit.site)


@pytest.fixture
def things(unit):
    vessel = factories.EquipmentFactory(site=unit.site, name="V-2107")
    place = plant.position(unit, "PSV-2107B", equipment=vessel)
    device = factories.DeviceFactory(site=unit.site, number="N-20418", serial="77-20418")
    record = factories.InspectionFactory(device=device, ref="W25-0088", certificate="C-991")
    return {"position": place, "device": device, "inspection": record}


@pytest.mark.parametrize(
    ("typed", "kind"),
    [
        ("PSV-2107B", "position"),
        ("psv-2107b", "position"),
        ("  PSV-2107B ", "position"),
        ("N-20418", "device"),
        ("77-20418", "device"),
        ("W25-0088", "inspection"),
        ("c-991", "inspection"),
    ],
)
def test_one_exact_hit_goes_straight_to_its_page(mechanic, things, typed, kind):
    response = mechanic.get("/search/", {"q": typed})
    assert response.status_code == 302
    assert response["Location"].endswith(f"/{kind}s/{things[kind].pk}/")


@pytest.mark.parametrize(
    ("typed", "found"),
    [("2107", "PSV-2107B"), ("V-2107", "PSV-2107B"), ("20418", "N-20418"), ("0088", "W25-0088")],
)
def test_a_part_of_it_lists_what_holds_it(mechanic, things, typed, found):
    page = text(mechanic.get("/search/", {"q": typed}))
    assert found in page


def test_two_exact_hits_are_listed(mechanic, things, unit):
    factories.DeviceFactory(site=unit.site, number="PSV-2107B")
    response = mechanic.get("/search/", {"q": "PSV-2107B"})
    assert response.status_code == 200
    assert [part.kind for part in response.context["found"]] == ["Positions", "Devices"]


def test_more_than_a_page_of_hits_says_so(mechanic, unit):
    for _ in range(21):
        plant.position(unit)
    assert "There are more: type more of it." in text(mechanic.get("/search/", {"q": "PSV"}))


@pytest.mark.parametrize("typed", ["", "   ", "nothing is called that", "%", "'; drop", "x" * 500])
def test_whatever_is_typed_is_answered(mechanic, things, typed):
    assert mechanic.get("/search/", {"q": typed}).status_code == 200


def test_other_sites_are_not_found(things):
    stranger = signed_in("mechanic", factories.SiteFactory())
    for typed in ("PSV-2107B", "N-20418", "77-20418", "W25-0088", "C-991"):
        response = stranger.get("/search/", {"q": typed})
        assert response.status_code == 200 and response.context["found"] == []
