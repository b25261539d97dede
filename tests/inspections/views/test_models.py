"""The page of a model, and its limits by form. All figures invented."""

import pytest
from django.urls import reverse

from inspections.models import PartLimit
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.views.bench.pages import client_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return factories.SiteFactory()


@pytest.fixture
def engineer(site):
    return client_of(factories.MembershipFactory(site=site, role="engineer").user)


@pytest.fixture
def model():
    return factories.DeviceModelFactory()


GIVEN = {"part": "spring", "measure": "free height", "low": "118.5 mm", "source": "drawing 7"}


def test_an_engineer_adds_changes_and_takes_away_a_limit(engineer, model):
    page = engineer.post(reverse("model_limit_new", args=[model.pk]), GIVEN, follow=True)
    assert "118.5 mm" in text(page) and "drawing 7" in text(page)
    limit = PartLimit.objects.get()
    address = reverse("model_limit", args=[limit.pk])
    engineer.post(address, GIVEN | {"low": "118 mm"})
    assert PartLimit.objects.get().low == "118 mm"
    page = engineer.post(address, {"remove": "1"}, follow=True)
    assert not PartLimit.objects.exists() and "no longer a limit" in text(page)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"source": ""}, "This field is required"),
        ({"low": ""}, "at least one end"),
        ({"low": "118,500 mm"}, "no comma before exactly three digits"),
        ({"low": "118"}, "the unit is missing"),
        ({"high": "1 mm"}, "not below the low end"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_stands(engineer, model, change, words):
    page = engineer.post(reverse("model_limit_new", args=[model.pk]), GIVEN | change)
    assert page.status_code == 422 and words in text(page)
    assert "free height" in page.content.decode() and not PartLimit.objects.exists()


def test_the_page_lists_its_limits_and_the_devices_the_reader_sees(engineer, site, model):
    factories.PartLimitFactory(model=model, part="spindle", measure="run-out", low="", high="2 mm")
    factories.DeviceFactory(site=site, model=model, number="D-MINE")
    factories.DeviceFactory(site=factories.SiteFactory(), model=model, number="D-THEIRS")
    page = text(engineer.get(reverse("model", args=[model.pk])))
    assert "Spindle" in page and "2 mm" in page
    assert "D-MINE" in page and "D-THEIRS" not in page


def test_a_mechanic_reads_limits_and_changes_none(site, model):
    mechanic = client_of(factories.MembershipFactory(site=site, role="mechanic").user)
    page = mechanic.get(reverse("model", args=[model.pk]))
    assert "Add a limit" not in text(page)
    posted = mechanic.post(reverse("model_limit_new", args=[model.pk]), GIVEN)
    assert posted.status_code == 403 and not PartLimit.objects.exists()
