"""What each site leaves its valves within, on the page of tolerances. +/-1 %: common practice."""

import pytest

from fleet.models import Site
from tests import factories
from tests.fleet.views.signed_in import signed_in, text

pytestmark = pytest.mark.django_db
PAGE = "/tolerances/"


@pytest.fixture
def site():
    return factories.SiteFactory(name="Blackwater")


@pytest.fixture
def band():
    narrow = {"basis": "gauge", "bands": [{"low": "-1 %", "high": "1 %"}]}
    return factories.ToleranceBandFactory(code="site-1pc", definition=narrow)


def sent(client, site, **typed):
    return client.post(f"/sites/{site.pk}/as-left/", typed, follow=True)


def named(site):
    return Site.objects.get(pk=site.pk).as_left_tolerance


def test_nothing_is_named_for_anybody_and_practice_is_only_a_hint(site, band):
    page = text(signed_in("engineer", site).get(PAGE))
    assert "No tolerance of its own is entered" in page and "often ±1 %" in page
    assert '<option value="-" selected>' in page and named(site) is None


def test_an_engineer_names_one_and_takes_it_away(site, band):
    engineer = signed_in("engineer", site)
    page = text(sent(engineer, site, tolerance="site-1pc"))
    assert "Blackwater leaves its valves within site-1pc." in page
    assert named(site) == band
    page = text(sent(engineer, site, tolerance="-"))
    assert "no tolerance of its own" in page and named(site) is None


@pytest.mark.parametrize("typed", [{}, {"tolerance": ""}, {"tolerance": "1 %"}])
def test_what_cannot_be_read_is_said_and_changes_nothing(site, band, typed):
    engineer = signed_in("engineer", site)
    sent(engineer, site, tolerance="site-1pc")
    page = sent(engineer, site, **typed)
    assert page.status_code == 422 and 'class="errors"' in text(page)
    assert named(site) == band


def test_others_read_it_and_another_site_is_out_of_reach(site, band):
    page = text(signed_in("mechanic", site).get(PAGE))
    assert "Blackwater" in page and "Set it" not in page
    elsewhere = factories.SiteFactory()
    engineer = signed_in("engineer", site)
    assert sent(engineer, elsewhere, tolerance="site-1pc").status_code == 404
    assert named(elsewhere) is None
