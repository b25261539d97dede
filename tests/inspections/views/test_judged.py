"""By what the review judges, and the two numbers a site sets: a common setting, nobody's rule."""

import pytest
from django.urls import reverse

from fleet.models import AuditEntry, Site
from inspections.models import FlagState
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.views.bench.pages import RING, client_of
from tests.inspections.views.test_arithmetic import _the_day as _the_day
from tests.inspections.views.test_arithmetic import engineer as engineer
from tests.inspections.views.test_arithmetic import shop as shop

pytestmark = pytest.mark.django_db


def send(user, site, **typed):
    return client_of(user).post(reverse("site_review", args=[site.pk]), typed, follow=True)


def repeated() -> bool:
    return FlagState.objects.filter(state__setting=RING, code="reset_repeatedly").exists()


def test_the_page_says_the_budget_and_its_parts(shop, engineer):
    page = text(client_of(engineer).get(reverse("review_judged")))
    for words in ("10.0 %", "6.0 %", "2.0 %", "trending", "Smyth 2004", "Benjamini and Hochberg"):
        assert words in page, words


def test_a_sites_own_numbers_decide_what_is_repeated_at_once(shop, engineer):
    """Its ring was reset at three of four overhauls: by the usual numbers that is repeated."""
    client_of(engineer).get(reverse("review_judged"))
    assert repeated()
    page = send(engineer, shop.site, overhauls="4", resets="4")
    assert "in 4 of the last 4 overhauls" in text(page)
    assert not repeated()
    assert AuditEntry.objects.filter(action="review numbers set").count() == 1


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"overhauls": "3", "resets": "4"}, "1 to 3 resets"),
        ({"overhauls": "51", "resets": "4"}, "1 to 50 overhauls"),
        ({"overhauls": "0", "resets": "1"}, "greater than or equal to 1"),
        ({"overhauls": "five", "resets": "1"}, "whole number"),
    ],
)
def test_numbers_that_mean_nothing_are_refused_at_their_field(shop, engineer, typed, words):
    page = send(engineer, shop.site, **typed)
    assert page.status_code == 422 and words in text(page)
    assert Site.objects.get(pk=shop.site.pk).review_overhauls == 5


def test_an_engineer_of_another_site_sets_nothing_here(shop):
    stranger = factories.MembershipFactory(role="engineer").user
    assert send(stranger, shop.site, overhauls="4", resets="4").status_code == 404


def test_what_the_budget_does_not_hold_is_said(engineer):
    page = text(client_of(engineer).get(reverse("review_judged")))
    assert "Not held" in page and "grows with the time in service" in page
