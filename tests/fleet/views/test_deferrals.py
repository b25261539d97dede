"""Leave to pass a due date, as people meet it: where it is asked, how far it reaches, who answers.

Sources of the policies: `tests/fleet/calc/test_deferrals.py`.
"""

from datetime import date, timedelta

import pytest

from fleet.models import Deferral, DeferralRequest
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, streamed, text

pytestmark = pytest.mark.django_db
DUE = date(2027, 1, 1)  # counted from 2022-01-01: a tenth of 1826 days is 182, to 2 July
LATEST = date(2027, 7, 1)  # six months


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def owed():
    return plant.due(factories.UnitFactory(name="Reformer"), "PSV-1", DUE)


@pytest.fixture
def planner(owed):
    return signed_in("planner", owed.position.site)


@pytest.fixture
def engineer(owed):
    return signed_in("engineer", owed.position.site)


def filled(**changes):
    return {"policy": "simple", "due_on": DUE, "until_on": "2027-06-01", "reason": "no spare",
            **changes}  # fmt: skip


def address(owed):
    return f"/obligations/{owed.pk}/leave/"


def requested(owed, **extra):
    return factories.DeferralRequestFactory(
        obligation=owed, **{"due_on": DUE, "until_on": date(2027, 6, 1), "requested_on": TODAY,
                            **extra})  # fmt: skip


def test_every_policy_says_how_far_it_reaches_and_whose_it_is(planner, owed):
    page = text(planner.get(address(owed)))
    assert "1 Jul 2027" in page and "not computed" in page
    for source in ("API 510, 11th edition, 6.7", "regulation 9(7)", "OMN-20"):
        assert source in page
    assert "Ask for this leave" not in page  # no policy is picked yet


def test_a_picked_policy_asks_for_what_it_needs(planner, owed):
    page = text(planner.get(address(owed) + "?policy=single_postponement"))
    assert "Agreement in writing" in page and "Authority notified on" in page
    page = text(planner.get(address(owed) + "?policy=simple"))
    assert "At the latest 1 Jul 2027: 6 months" in page and "Authority notified" not in page


def test_leave_is_asked_and_waits_for_an_answer(planner, owed):
    page = text(planner.post(address(owed), filled(), follow=True))
    assert "another person answers it" in page and "asked today" in page
    asked = DeferralRequest.objects.get()
    assert (asked.until_on, asked.recorded_by) == (date(2027, 6, 1), planner.user)
    assert "waits for an answer" in text(planner.get(address(owed)))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"until_on": "2027-07-02"}, "ends by 1 Jul 2027 at the latest"),
        ({"until_on": ""}, "This field is required"),
        ({"reason": " "}, "This field is required"),
        ({"policy": "assessed", "document": "RA-1"}, "Needed for an assessed deferral"),
        ({"policy": "assessed", "interim_measure": "x"}, "API 510"),
        ({"policy": "single_postponement", "document": "x"}, "Needed for a postponement"),
        ({"policy": "single_postponement", "document": "x", "notified_on": "2027-01-01"},
         "notified of a postponement before the due date"),
        ({"due_on": "2027-01-02"}, "The present due date, 1 Jan 2027"),
        ({"policy": "grace"}, "Pick one of the policies"),
        ({"policy": ""}, "Pick one of the policies"),
    ],
)  # fmt: skip
def test_what_breaks_the_policy_is_refused_beside_its_field(planner, owed, changes, said):
    response = planner.post(address(owed), filled(**changes))
    assert response.status_code == 422 and said in text(response)
    assert "no spare" in text(response) or "reason" in changes
    assert not DeferralRequest.objects.exists()


def test_past_its_date_it_is_too_late_to_ask(planner):
    late = plant.due(factories.UnitFactory(site=planner.user.memberships.get().site), "PSV-2",
                     TODAY - timedelta(days=1))  # fmt: skip
    page = text(planner.get(address(late) + "?policy=simple"))
    assert "Too late to ask" in page and "Ask for this leave" not in page


def test_what_has_no_date_has_nothing_to_pass(planner, owed):
    bare = plant.owed(plant.position(owed.position.unit, "PSV-2"))
    assert "nothing to pass" in text(planner.get(address(bare)))


def test_another_person_approves(engineer, owed):
    asked = requested(owed)
    url = f"/due/deferrals/{asked.pk}/answer/"
    assert "Approve" in text(engineer.get(url))
    page = text(engineer.post(url, {"answer": "approve", "answer_words": "agreed"}, follow=True))
    assert "Approved" in page and "in force, 213 days left" in page
    assert Deferral.objects.get().approved_by == engineer.user


def test_who_asked_does_not_answer(engineer, owed):
    asked = requested(owed, recorded_by=engineer.user)
    url = f"/due/deferrals/{asked.pk}/answer/"
    page = text(engineer.get(url))
    assert "You asked for it" in page and 'value="approve"' not in page
    response = engineer.post(url, {"answer": "approve"})
    assert response.status_code == 422 and "Another person than the one who asked" in text(response)
    assert not Deferral.objects.exists()


def test_a_refusal_says_why(engineer, owed):
    asked = requested(owed)
    url = f"/due/deferrals/{asked.pk}/answer/"
    response = engineer.post(url, {"answer": "refuse"})
    assert response.status_code == 422 and "Say why the leave is not given" in text(response)
    page = text(engineer.post(url, {"answer": "refuse", "answer_words": "spare is here"},
                              follow=True))  # fmt: skip
    assert "refused" in page and "spare is here" in page


def test_what_can_no_longer_be_approved_says_so_before_it_is_tried(engineer, owed):
    asked = requested(owed, until_on=date(2027, 7, 2))
    page = text(engineer.get(f"/due/deferrals/{asked.pk}/answer/"))
    assert "It cannot be approved" in page and 'value="approve"' not in page
    assert 'value="refuse"' in page


def test_open_requests_come_first_then_leave_by_its_end_then_what_expired(planner, owed):
    def deferred(tag, due_on, until_on):
        row = plant.due(owed.position.unit, tag, due_on)
        factories.DeferralFactory(obligation=row, due_on=due_on, until_on=until_on)

    deferred("EXPIRED", date(2026, 3, 1), date(2026, 10, 30))
    deferred("LATER", date(2026, 9, 1), date(2027, 3, 1))
    deferred("SOONER", date(2026, 10, 1), date(2026, 10, 31))
    requested(owed)
    found = [row.record for row in planner.get("/due/deferrals/").context["table"].page]
    assert [(row.tag, row.state) for row in found] == [
        ("PSV-1", "asked"), ("SOONER", "in_force"), ("LATER", "in_force"), ("EXPIRED", "expired")
    ]  # fmt: skip
    page = text(planner.get("/due/deferrals/"))
    assert "past its date, last day" in page and "expired 1 day ago" in page
    page = text(planner.get("/due/deferrals/?state=expired"))
    assert "EXPIRED" in page and "SOONER" not in page


def test_leave_that_was_not_needed_any_more_is_neither_in_force_nor_expired(planner, owed):
    factories.DeferralFactory(obligation=owed, due_on=date(2022, 1, 1), until_on=date(2022, 3, 1))
    assert "no longer needed" in text(planner.get("/due/deferrals/"))


def test_the_list_can_be_exported(planner, owed):
    requested(owed)
    lines = streamed(planner.get("/due/deferrals/?export=csv")).decode().splitlines()
    assert lines[0].startswith("site,unit,tag,activity,due_on,until_on,policy,state")
    assert "PSV-1,bench_test,2027-01-01,2027-06-01,simple,asked" in lines[1]


def test_the_list_costs_the_same_for_three_and_for_thirty(
    planner, owed, django_assert_max_num_queries, django_assert_num_queries
):
    def more(numbers):
        for n in numbers:
            row = plant.due(owed.position.unit, f"PSV-{n:02}x", DUE)
            requested(row)
            factories.DeferralFactory(obligation=row, due_on=DUE, until_on=LATEST)

    more(range(3))
    # session, user, roles; sites, units of the filter; keys of both tables; rows of both; names
    with django_assert_max_num_queries(12) as few:
        planner.get("/due/deferrals/")
    more(range(3, 20))
    with django_assert_num_queries(len(few.captured_queries)):
        assert len(planner.get("/due/deferrals/").context["table"].page) == 40


def test_a_line_without_an_outage_in_time_leads_to_asking(planner, owed):
    assert f'href="{address(owed)}"' in text(planner.get("/due/"))
    assert f'href="{address(owed)}"' not in text(
        signed_in("mechanic", owed.position.site).get("/due/")
    )


def test_outside_its_site_nothing_of_it_exists(owed):
    stranger = signed_in("engineer", factories.SiteFactory())
    asked = requested(owed)
    assert stranger.get(address(owed)).status_code == 404
    assert (
        stranger.post(f"/due/deferrals/{asked.pk}/answer/", {"answer": "approve"}).status_code
        == 404
    )
    assert "PSV-1" not in text(stranger.get("/due/deferrals/"))


def test_an_engineer_elsewhere_who_only_reads_here_answers_nothing_here(owed):
    person = signed_in("engineer", factories.SiteFactory())
    factories.MembershipFactory(user=person.user, site=owed.position.site, role="auditor")
    asked = requested(owed)
    assert person.get("/due/deferrals/").status_code == 200
    assert "Answer it" not in text(person.get("/due/deferrals/"))
    url = f"/due/deferrals/{asked.pk}/answer/"
    assert person.post(url, {"answer": "approve"}).status_code == 403
