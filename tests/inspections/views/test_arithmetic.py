"""The arithmetic behind the review, and an engineer's answer to a flag.

The figures by hand: left at 5 notches and found 2, 4 and 6 notches higher after one, two and three
years of 365 days: b = sum(m t)/sum(t^2) = 2 x 365.25/365 notches a year, nothing left over.
"""

from datetime import date

import pytest
from django.urls import reverse

from inspections.models import Acknowledgement, FlagState
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.shop import Shop
from tests.inspections.views.bench.pages import RING, client_of

pytestmark = pytest.mark.django_db
DAYS = (date(2016, 5, 1), date(2017, 5, 1), date(2019, 5, 1), date(2022, 4, 30))


@pytest.fixture(autouse=True)
def _the_day(settings):
    settings.FIXED_TODAY = date(2024, 6, 1)


@pytest.fixture
def shop():
    shop = Shop(activity="overhaul")
    shop.point()
    for place, day in enumerate(DAYS):
        read = {(RING, "as_found"): f"{5 + 2 * place} notches", (RING, "as_left"): "5 notches"}
        job = shop.open("overhaul", day=day)
        shop.finish(job, settings=read)
    return shop


@pytest.fixture
def engineer(shop):
    return factories.MembershipFactory(site=shop.site, role="engineer").user


def page_of(user, shop) -> str:
    return text(client_of(user).get(reverse("device_arithmetic", args=[shop.device.pk])))


def test_every_movement_stands_there_and_what_is_reckoned_from_them(shop, engineer):
    page = page_of(engineer, shop)
    for words in ("5 notches", "+2 notches", "+4 notches", "+6 notches", "+2.001 notches a year"):
        assert words in page, words
    assert "Not enough readings" not in page.partition(f'id="{RING}"')[2].partition("</section>")[0]


def test_where_there_is_too_little_no_number_is_given():
    """One visit alone: no movement, so neither drift nor projection."""
    shop = Shop(activity="overhaul")
    shop.finish(shop.open("overhaul", day=DAYS[0]))
    person = factories.MembershipFactory(site=shop.site, role="engineer").user
    page = page_of(person, shop)
    assert "nothing to subtract" in page and "Not enough readings: 0 movements" in page
    assert "No projection: not enough readings" in page


def test_every_setting_is_a_part_that_is_open_and_can_be_jumped_to(shop, engineer):
    """Without its script the page is whole; with it a phone shows one part at a time."""
    page = page_of(engineer, shop)
    for name in ("set_pressure", RING):
        assert f'<a href="#{name}">' in page and f'<section id="{name}">' in page
    assert page.count('<details class="part" open>') == page.count("<section id=") == 2
    jump = page.partition('class="jump"')[2].partition("</nav>")[0]
    assert "flagged" in jump.partition(f"#{RING}")[2]
    assert "inspections/folds" in page


def test_a_device_with_one_setting_has_nothing_to_jump_to():
    shop = Shop(activity="overhaul")
    shop.finish(shop.open("bench_test", day=DAYS[0]))
    person = factories.MembershipFactory(site=shop.site, role="engineer").user
    assert 'class="jump"' not in page_of(person, shop)


def flag_of(shop) -> FlagState:
    return FlagState.objects.filter(state__device=shop.device, state__setting=RING).first()


def send(user, shop, **typed):
    url = reverse("device_acknowledge", args=[shop.device.pk])
    return client_of(user).post(url, typed, follow=True)


def test_an_engineer_answers_a_flag_and_it_is_quiet_until_something_new(shop, engineer):
    page_of(engineer, shop)
    flag = flag_of(shop)
    about = {"setting": RING, "code": flag.code, "fingerprint": flag.fingerprint}
    page = send(engineer, shop, **about, note="Pin worn; a new one is on order.")
    assert "quiet until something new" in text(page) and "Pin worn" in text(page)
    assert Acknowledgement.objects.get().recorded_by == engineer
    again = send(engineer, shop, **about, note="Once more")
    assert again.status_code == 422 and "nobody has answered yet" in text(again)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"note": "  "}, "what was found when it was looked at"),
        ({"fingerprint": "0" * 64}, "rests on something else by now"),
        ({"code": "sticking"}, "a flag that stands"),
    ],
)
def test_what_cannot_be_answered_is_said_at_the_flag(shop, engineer, change, words):
    page_of(engineer, shop)
    flag = flag_of(shop)
    about = {"setting": RING, "code": flag.code, "fingerprint": flag.fingerprint, "note": "Seen"}
    page = send(engineer, shop, **about | change)
    assert page.status_code == 422 and words in text(page)
    assert not Acknowledgement.objects.exists()


def test_it_costs_the_same_queries_for_four_visits_and_for_eight(
    shop, engineer, django_assert_max_num_queries
):
    client, url = client_of(engineer), reverse("device_arithmetic", args=[shop.device.pk])
    client.get(url)
    with django_assert_max_num_queries(35) as few:
        client.get(url)
    count = len(few)
    for place, day in enumerate(date(2023, month, 1) for month in (1, 4, 7, 10)):
        read = {(RING, "as_found"): f"{5 + place} notches", (RING, "as_left"): "5 notches"}
        job = shop.open("overhaul", day=day)
        shop.finish(job, settings=read)
    client.get(url)
    with django_assert_max_num_queries(count):
        client.get(url)
