"""The calendar at its private address: who reads what, and who closes it."""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client

from fleet.actions.feeds import digest_of, make_feed
from fleet.actions.outages import save_outages
from fleet.models import AuditEntry, Feed
from fleet.reports.proof import differences
from tests import factories
from tests.fleet.papers.strict_calendar import day, events, moment, text
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, words

pytestmark = pytest.mark.django_db
AT = datetime(2026, 10, 30, 9, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY
    settings.PUBLIC_URL = "https://plant.example"


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


@pytest.fixture
def feed(unit):
    return fed(unit)


def fed(unit, role="mechanic"):
    """A feed of somebody with this role, and its address."""
    person = factories.MembershipFactory(site=unit.site, role=role).user
    row, secret = make_feed(person, unit.site, by=person, at=AT)
    row.address = f"/calendar/{secret}.ics"
    return row


def read(feed):
    """{uid: event}, asked for by nobody who is signed in."""
    response = Client().get(feed.address)
    assert response.status_code == 200
    return {event["UID"][1]: event for event in events(response.content)}


def status(address):
    return Client().get(address).status_code


def test_the_answer_is_a_private_calendar(feed):
    response = Client().get(feed.address)
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    assert "private" in response["Cache-Control"] and response["X-Robots-Tag"] == "noindex"
    assert not response.cookies and Client().head(feed.address).status_code == 200


def test_an_outage_is_whole_days_with_an_exclusive_end(feed, unit):
    row = factories.OutageFactory(site=unit.site, units=[unit], name="Spring")
    event = read(feed)[f"outage-{row.pk}@plant.example"]
    assert (day(event["DTSTART"]), day(event["DTEND"])) == (date(2027, 5, 1), date(2027, 5, 22))
    assert text(event["SUMMARY"][1]) == "Outage Spring: Reformer"
    assert event["URL"][1] == f"https://plant.example/outages/{row.pk}/"
    assert event["STATUS"][1] == "CONFIRMED"


def test_an_outage_keeps_its_uid_when_it_moves_and_counts_its_changes(feed, unit):
    row = factories.OutageFactory.build(site=unit.site)
    save_outages([(row, [unit])], by=feed.user, at=AT)
    uid = f"outage-{row.pk}@plant.example"
    assert read(feed)[uid]["SEQUENCE"][1] == "0"
    row.starts_on = date(2027, 4, 20)
    later = AT + timedelta(hours=5)
    save_outages([(row, [unit])], by=feed.user, at=later)
    event = read(feed)[uid]
    assert day(event["DTSTART"]) == date(2027, 4, 20) and event["SEQUENCE"][1] == "1"
    assert moment(event["DTSTAMP"]) == later


@pytest.mark.parametrize(("stands", "said"), [("draft", "TENTATIVE"), ("cancelled", "CANCELLED")])
def test_a_draft_and_a_cancelled_outage_say_so(feed, unit, stands, said):
    factories.OutageFactory(site=unit.site, units=[unit], status=stands)
    assert [event["STATUS"][1] for event in read(feed).values()] == [said]


def test_an_outage_of_long_ago_is_left_out(feed, unit):
    factories.OutageFactory(
        site=unit.site, units=[unit], starts_on=date(2020, 1, 1), ends_on=date(2020, 2, 1)
    )
    assert read(feed) == {}


def test_a_due_date_is_one_day_with_its_work_and_reason(feed, unit):
    owed = plant.due(unit, "PSV-1", date(2027, 6, 1), number="D-7", serial="S-9")
    event = read(feed)[f"obligation-{owed.pk}@plant.example"]
    assert (day(event["DTSTART"]), day(event["DTEND"])) == (date(2027, 6, 1), date(2027, 6, 2))
    assert text(event["SUMMARY"][1]) == "PSV-1: bench test due"
    assert "Device D-7, serial S-9." in text(event["DESCRIPTION"][1])
    assert text(event["LOCATION"][1]) == f"Reformer, {unit.site}"
    assert event["URL"][1] == f"https://plant.example/positions/{owed.position_id}/"
    assert moment(event["DTSTAMP"]) == factories.fleet.RECORDED_AT


def test_twelve_months_ahead_and_what_is_overdue_stays(feed, unit):
    """The last day is 31 October 2027, twelve months on from 31 October 2026."""
    last = plant.due(unit, "PSV-1", date(2027, 10, 31))
    plant.due(unit, "PSV-2", date(2027, 11, 1))
    late = plant.due(unit, "PSV-3", date(2026, 1, 5))
    plant.owed(plant.position(unit, "PSV-4"))  # no date, no event
    found = read(feed)
    assert set(found) == {f"obligation-{o.pk}@plant.example" for o in (last, late)}
    event = found[f"obligation-{late.pk}@plant.example"]
    assert text(event["SUMMARY"][1]) == "PSV-3: bench test due (overdue)"
    # That it is overdue is true since its day went by, and is no news on any day after.
    assert moment(event["DTSTAMP"]) == datetime(2026, 1, 5, 23, 59, 59, tzinfo=UTC)


def test_a_deferral_is_said_and_moves_nothing(feed, unit):
    owed = plant.due(unit, "PSV-1", date(2026, 9, 1))
    factories.DeferralFactory(
        obligation=owed, due_on=date(2026, 9, 1), until_on=date(2027, 1, 15),
        approved_on=date(2026, 8, 1), recorded_at=AT,
    )  # fmt: skip
    plant.stamp_lines([owed.position])
    [event] = read(feed).values()
    assert day(event["DTSTART"]) == date(2026, 9, 1)
    assert "(overdue; deferred until 15 Jan 2027)" in text(event["SUMMARY"][1])
    assert moment(event["DTSTAMP"]) == AT


def test_it_holds_its_own_site_and_no_other(feed, unit):
    other = factories.UnitFactory()
    factories.MembershipFactory(user=feed.user, site=other.site)
    plant.due(other, "PSV-9", date(2027, 6, 1))
    factories.OutageFactory(site=other.site, units=[other])
    assert read(feed) == {}


def test_the_same_facts_give_the_same_bytes(feed, unit):
    plant.due(unit, "PSV-1", date(2027, 6, 1))
    factories.OutageFactory(site=unit.site, units=[unit])
    assert Client().get(feed.address).content == Client().get(feed.address).content


def test_it_costs_the_same_for_three_dates_and_for_thirty(
    feed, unit, django_assert_max_num_queries, django_assert_num_queries
):
    for n in range(3):
        plant.due(unit, f"PSV-{n:02}", date(2027, 6, 1))
        factories.OutageFactory(site=unit.site, units=[unit])
    # feed, roles; outages, units, changes; stale stamps, lines, the nine of a page; spans, leave
    with django_assert_max_num_queries(20) as few:
        read(feed)
    for n in range(3, 30):
        plant.due(unit, f"PSV-{n:02}", date(2027, 6, 1))
        factories.OutageFactory(site=unit.site, units=[unit])
    with django_assert_num_queries(len(few.captured_queries)):
        assert len(read(feed)) == 60


# Who it answers


def test_a_revoked_address_answers_as_one_that_never_was(feed):
    owner = Client()
    owner.force_login(feed.user)
    assert owner.post(f"/calendars/{feed.pk}/revoke/").status_code == 302
    never = f"/calendar/{'A' * 43}.ics"
    assert status(feed.address) == status(never) == 404
    assert Client().get(feed.address).content == Client().get(never).content


def test_somebody_who_has_left_takes_the_calendar_along(feed):
    feed.user.is_active = False
    feed.user.save()
    assert status(feed.address) == 404


def test_who_lost_the_role_at_the_site_lost_its_calendar(feed, unit):
    feed.user.memberships.all().delete()
    factories.MembershipFactory(user=feed.user, role="planner")  # elsewhere
    assert status(feed.address) == 404


@pytest.mark.parametrize("secret", ["x", "A" * 400, "-", "0" * 64])
def test_a_guess_finds_nothing(feed, secret):
    assert status(f"/calendar/{secret}.ics") == 404


def test_the_digest_that_is_kept_opens_nothing(feed):
    assert status(f"/calendar/{feed.digest}.ics") == 404


# The page


def test_the_secret_is_shown_once_and_kept_nowhere(unit):
    client = signed_in("auditor", unit.site)
    page = client.post("/calendars/new/", {"site": unit.site_id})
    [secret] = re.findall(
        r"https://plant\.example/calendar/([\w-]{43})\.ics", page.content.decode()
    )
    assert page["Cache-Control"] == "no-store"
    row = Feed.objects.get()
    assert row.digest == digest_of(secret) and row.user == client.user
    assert status(f"/calendar/{secret}.ics") == 200
    assert secret not in client.get("/calendars/").content.decode()
    assert all(secret not in entry.after for entry in AuditEntry.objects.all())


def test_no_two_secrets_are_alike_and_each_has_32_bytes(unit):
    person = factories.MembershipFactory(site=unit.site).user
    made = {make_feed(person, unit.site, by=person, at=AT)[1] for _ in range(20)}
    assert len(made) == 20 and {len(secret) for secret in made} == {43}  # base64 of 32 bytes


def test_people_see_their_own_and_an_administrator_everybody_s(feed, unit):
    other = fed(unit, "planner")
    mine = Client()
    mine.force_login(feed.user)
    assert words(mine.get("/calendars/")).count("revoke") == 2  # the lede's and one row's
    assert str(other.user) not in words(mine.get("/calendars/"))
    keeper = signed_in("administrator", unit.site)
    page = words(keeper.get("/calendars/"))
    assert str(feed.user) in page and str(other.user) in page
    elsewhere = signed_in("administrator", factories.SiteFactory())
    assert str(feed.user) not in words(elsewhere.get("/calendars/"))


def test_an_administrator_revokes_anybody_s_of_the_site_and_a_colleague_does_not(feed, unit):
    colleague, keeper = signed_in("planner", unit.site), signed_in("administrator", unit.site)
    address = f"/calendars/{feed.pk}/revoke/"
    assert colleague.post(address).status_code == 403 and status(feed.address) == 200
    stranger = signed_in("administrator", factories.SiteFactory())
    assert stranger.post(address).status_code == 404 and status(feed.address) == 200
    assert keeper.post(address).status_code == 302 and status(feed.address) == 404
    first = Feed.objects.get(pk=feed.pk).revoked_at
    keeper.post(address)
    assert Feed.objects.get(pk=feed.pk).revoked_at == first
    assert [e.action for e in AuditEntry.objects.order_by("number")] == [
        "calendar address made", "calendar address revoked",
    ]  # fmt: skip
    assert not [d for d in differences() if "feed" in d.where]


@pytest.mark.parametrize("site", ["", "x", "9" * 30, "²"])
def test_an_odd_site_makes_nothing(unit, site):
    client = signed_in("planner", unit.site)
    assert client.post("/calendars/new/", {"site": site}).status_code == 404
    assert not Feed.objects.exists()


def test_another_site_s_calendar_is_nobody_s_to_make(unit):
    client = signed_in("planner", unit.site)
    foreign = factories.SiteFactory()
    assert client.post("/calendars/new/", {"site": foreign.pk}).status_code == 404


def test_the_outages_lead_to_it(unit):
    assert 'href="/calendars/"' in signed_in("planner", unit.site).get("/outages/").content.decode()
