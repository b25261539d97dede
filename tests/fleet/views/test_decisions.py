"""Deciding an interval: the date it would give is shown before anything is written.

The worked decision (five years since 2020-01-01, three from 2023-06-01, act by 2023-09-30) is the
workbook's own contract.
"""

from datetime import date

import pytest

from fleet.models import AuditEntry, IntervalDecision, ObligationSpan
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.views.signed_in import signed_in, text

pytestmark = pytest.mark.django_db
TODAY = date(2023, 5, 1)


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def owed():
    return plant.due(factories.UnitFactory(name="Stills"), "PSV-1", date(2025, 1, 1))


@pytest.fixture
def engineer(owed):
    return signed_in("engineer", owed.position.site)


def filled(**changes):
    return {"interval": "3 years", "from_on": "2023-06-01", "act_by": "2023-09-30",
            "reason": "two low pops", **changes}  # fmt: skip


def address(owed):
    return f"/obligations/{owed.pk}/interval/"


def shown(client, owed, **changes):
    """The page after the first press, and the form it would send next."""
    response = client.post(address(owed), filled(**changes))
    assert response.status_code == 200, text(response)
    return response, filled(**changes) | {"seen": response.context["form"]["seen"].value()}


def test_the_date_is_shown_first_and_nothing_is_written(engineer, owed):
    response, _ = shown(engineer, owed)
    page = text(response)
    assert "As it stands" in page and "1 Jan 2025" in page
    assert "As decided" in page and "30 Sep 2023" in page and "Nothing is decided yet" in page
    assert not IntervalDecision.objects.exists() and not AuditEntry.objects.exists()


def test_what_was_shown_is_decided_by_the_second_press(engineer, owed):
    _, again = shown(engineer, owed, evidence="reports of 2022")
    page = text(engineer.post(address(owed), again, follow=True))
    assert "Decided: the bench test of PSV-1 from 1 Jun 2023" in page
    row = IntervalDecision.objects.get()
    assert (row.interval, row.act_by) == ("P3Y", date(2023, 9, 30))
    assert (row.decided_by, row.evidence) == (engineer.user, "reports of 2022")
    assert ObligationSpan.objects.known().on(date(2023, 6, 1)).get().due_on == date(2023, 9, 30)


@pytest.mark.parametrize(
    "changes",
    [{"interval": "4 years", "act_by": ""}, {"from_on": "2023-07-01"}, {"act_by": "2023-08-01"}],
)
def test_what_was_changed_after_it_was_shown_is_shown_again(engineer, owed, changes):
    _, again = shown(engineer, owed)
    page = text(engineer.post(address(owed), again | changes))
    assert "Nothing is decided yet" in page and not IntervalDecision.objects.exists()


def test_a_date_that_moved_meanwhile_is_shown_again(engineer, owed):
    """Somebody recorded a test between the two presses."""
    _, again = shown(engineer, owed, interval="4 years", act_by="")
    device = owed.position.installations.get().device
    factories.ServiceEventFactory(device=device, done_on=date(2023, 4, 1))
    page = text(engineer.post(address(owed), again))
    assert "1 Apr 2027" in page and not IntervalDecision.objects.exists()


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"act_by": ""}, "Name a day to act by: 3 years after it was last done is past"),
        ({"act_by": "2025-01-02"}, "only a deferral gives leave"),
        ({"act_by": "2023-05-31"}, "no day before the decision holds, 1 Jun 2023"),
        (
            {"interval": "6 years", "act_by": ""},
            "“6 years”: no longer than the rule&#x27;s own 5 years",
        ),
        ({"interval": "often"}, "expected an interval"),
        ({"from_on": "2023-04-30"}, "never changes days that are past"),
        ({"reason": ""}, "This field is required"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(engineer, owed, changes, said):
    response = engineer.post(address(owed), filled(**changes))
    assert response.status_code == 422 and said in text(response)
    assert not IntervalDecision.objects.exists()


def test_the_page_says_the_rule_and_how_far_a_decision_may_go(engineer, owed):
    rule = factories.IntervalRuleFactory(parameters={"gap": "P5Y", "ceiling": "P8Y"})
    row = factories.ObligationFactory(position=owed.position, rule=rule, activity="overhaul")
    page = text(engineer.get(address(row)))
    assert "lengthen it to 8 years" in page and "Now <b>5 years</b>" in page


def test_a_rule_without_an_interval_takes_no_decision(engineer, owed):
    """49 CFR 230.50: every 92 service days."""
    rule = factories.IntervalRuleFactory(
        kind="usage", parameters={"counter": "service_days", "count": 92}
    )
    row = factories.ObligationFactory(position=owed.position, rule=rule, activity="overhaul")
    assert "takes no interval from a decision" in text(engineer.get(address(row)))
    response = engineer.post(address(row), filled())
    assert response.status_code == 422 and not IntervalDecision.objects.exists()


def test_a_position_leads_an_engineer_to_it_and_nobody_else(engineer, owed):
    place = f"/positions/{owed.position_id}/"
    assert f'href="{address(owed)}"' in text(engineer.get(place))
    planner = signed_in("planner", owed.position.site)
    assert f'href="{address(owed)}"' not in text(planner.get(place))
    assert planner.get(address(owed)).status_code == 403


def test_outside_its_site_it_does_not_exist(owed):
    stranger = signed_in("engineer", factories.SiteFactory())
    assert stranger.post(address(owed), filled()).status_code == 404
