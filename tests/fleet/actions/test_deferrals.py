"""Leave asked for by one person and given or refused by another, in the words of its policy.

Sources of the policies: `tests/fleet/calc/test_deferrals.py`.
"""

from datetime import UTC, date, datetime, timedelta

import pytest

from fleet.actions import deferrals
from fleet.faults import Refused
from fleet.models import AuditEntry, Deferral, DeferralRequest, DueLine
from fleet.reports.proof import differences
from tests import factories
from tests.fleet.reports import plant

pytestmark = pytest.mark.django_db
TODAY = date(2026, 10, 31)
NOW = datetime(2026, 10, 31, 12, tzinfo=UTC)
LAST, DUE = date(2021, 12, 1), date(2026, 12, 1)


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def owed():
    return plant.due(factories.UnitFactory(), "PSV-1", DUE)


def person(owed, role):
    return factories.MembershipFactory(site=owed.position.site, role=role).user


@pytest.fixture
def planner(owed):
    return person(owed, "planner")


@pytest.fixture
def engineer(owed):
    return person(owed, "engineer")


def wanted(owed, **changes):
    about = {"due_on": DUE, "until_on": date(2027, 5, 1), "policy": "simple", "reason": "no spare"}
    return DeferralRequest(obligation=owed, **about | changes)


def refusals(act):
    with pytest.raises(Refused) as refused:
        act()
    return refused.value.faults


def test_leave_asked_and_given_is_a_deferral_with_both_names(owed, planner, engineer):
    asked = deferrals.request(wanted(owed), by=planner, at=NOW)
    assert (asked.requested_on, asked.recorded_by) == (TODAY, planner)
    assert DueLine.objects.get().deferred_until is None
    given = deferrals.approve(asked, by=engineer, at=NOW, words="as agreed")
    assert (given.due_on, given.until_on, given.policy) == (DUE, date(2027, 5, 1), "simple")
    assert (given.approved_by, given.approved_on) == (engineer, TODAY)
    assert DueLine.objects.get().deferred_until == given.until_on
    asked.refresh_from_db()
    assert (asked.answer, asked.answered_by, asked.deferral) == ("approved", engineer, given)
    assert [row.action for row in AuditEntry.objects.order_by("number")] == [
        "deferral asked for", "due date deferred", "deferral approved",
    ]  # fmt: skip
    found = [d for d in differences() if "deferral" in d.where]
    assert not found


def test_leave_refused_keeps_the_reason_and_lets_ask_again(owed, planner, engineer):
    asked = deferrals.request(wanted(owed), by=planner, at=NOW)
    assert refusals(lambda: deferrals.refuse(asked, " ", by=engineer, at=NOW))[0].field == (
        "answer_words"
    )
    stored = deferrals.refuse(asked, "the spare is here", by=engineer, at=NOW)
    assert (stored.answer, stored.answer_words) == ("refused", "the spare is here")
    assert not Deferral.objects.exists() and DueLine.objects.get().deferred_until is None
    deferrals.request(wanted(owed), by=planner, at=NOW)


LATE = datetime(2026, 12, 2, 12, tzinfo=UTC)
FUTURE = date(2026, 11, 1)


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"until_on": date(2027, 6, 2)}, "until_on", "2027-06-01 at the latest"),
        ({"until_on": DUE}, "until_on", "a day after the due date"),
        ({"due_on": date(2026, 12, 2)}, "due_on", "the present due date, 2026-12-01"),
        ({"reason": "  "}, "reason", "why"),
        ({"policy": "assessed", "document": "RA-1"}, "interim_measure", "interim measure"),
        ({"policy": "assessed", "interim_measure": "x"}, "document", "risk assessment"),
        ({"policy": "single_postponement", "document": "x"}, "notified_on", "notified"),
        ({"policy": "single_postponement", "document": "x", "notified_on": FUTURE},
         "notified_on", "not in the future"),
        ({"policy": "test_period", "until_on": date(2027, 6, 2)}, "until_on", "OMN-20"),
    ],
)  # fmt: skip
def test_what_breaks_its_policy_is_refused_in_the_rule_s_words(
    owed, planner, changes, field, words
):
    [fault] = refusals(lambda: deferrals.request(wanted(owed, **changes), by=planner, at=NOW))
    assert fault.field == field and words in fault.expected
    assert not DeferralRequest.objects.exists() and not AuditEntry.objects.exists()


def test_a_request_after_the_due_date_is_refused(owed, planner):
    [fault] = refusals(lambda: deferrals.request(wanted(owed), by=planner, at=LATE))
    assert fault.code == "late_approval" and "on or before the due date" in fault.expected
    assert "API 510" in fault.expected


def test_on_the_due_date_itself_leave_may_be_asked(owed, planner):
    deferrals.request(wanted(owed), by=planner, at=LATE - timedelta(days=1))


def test_leave_asked_in_time_is_not_given_after_the_date(owed, planner, engineer):
    asked = deferrals.request(wanted(owed), by=planner, at=NOW)
    [fault] = refusals(lambda: deferrals.approve(asked, by=engineer, at=LATE))
    assert fault.code == "late_approval"
    assert not Deferral.objects.exists()


def test_nobody_approves_what_they_asked_for(owed, engineer):
    asked = deferrals.request(wanted(owed), by=engineer, at=NOW)
    for act in (
        lambda: deferrals.approve(asked, by=engineer, at=NOW),
        lambda: deferrals.refuse(asked, "no", by=engineer, at=NOW),
    ):
        assert [fault.code for fault in refusals(act)] == ["own_request"]


@pytest.mark.parametrize("role", ["planner", "mechanic", "auditor", "administrator"])
def test_only_an_engineer_of_the_site_approves(owed, planner, role):
    asked = deferrals.request(wanted(owed), by=planner, at=NOW)
    other = person(owed, role)
    factories.MembershipFactory(user=other, role="engineer")  # elsewhere
    [fault] = refusals(lambda: deferrals.approve(asked, by=other, at=NOW))
    assert fault.code == "no_right"


def test_only_a_planner_or_an_engineer_asks(owed):
    mechanic = person(owed, "mechanic")
    [fault] = refusals(lambda: deferrals.request(wanted(owed), by=mechanic, at=NOW))
    assert fault.field == "asked_by"


def test_one_request_at_a_time(owed, planner):
    deferrals.request(wanted(owed), by=planner, at=NOW)
    [fault] = refusals(lambda: deferrals.request(wanted(owed), by=planner, at=NOW))
    assert fault.code == "waiting" and str(planner) in fault.expected


def test_an_answer_is_given_once(owed, planner, engineer):
    asked = deferrals.request(wanted(owed), by=planner, at=NOW)
    deferrals.approve(asked, by=engineer, at=NOW)
    other = person(owed, "engineer")
    [fault] = refusals(lambda: deferrals.refuse(asked, "no", by=other, at=NOW))
    assert "approved it on 2026-10-31" in fault.expected
    assert Deferral.objects.count() == 1


def test_a_second_simple_deferral_of_a_due_date_is_refused(owed, planner, engineer):
    deferrals.approve(deferrals.request(wanted(owed), by=planner, at=NOW), by=engineer, at=NOW)
    later = NOW + timedelta(days=1)
    faults = refusals(lambda: deferrals.request(wanted(owed), by=planner, at=later))
    assert {fault.code for fault in faults} == {"deferred_already", "repeated"}
    assert any("once in a due cycle" in fault.expected for fault in faults)


def test_what_has_no_due_date_cannot_be_deferred(planner, owed):
    bare = plant.owed(plant.position(owed.position.unit, "PSV-2"))
    [fault] = refusals(lambda: deferrals.request(wanted(bare), by=planner, at=NOW))
    assert "none now" in fault.expected


def test_done_meanwhile_the_leave_is_no_longer_given(owed, planner, engineer):
    asked = deferrals.request(wanted(owed), by=planner, at=NOW)
    owed.spans.update(superseded_at=NOW)
    factories.ObligationSpanFactory(obligation=owed, from_on=TODAY, state="dated",
                                    due_on=date(2031, 10, 31), last_on=TODAY)  # fmt: skip
    faults = refusals(lambda: deferrals.approve(asked, by=engineer, at=NOW))
    assert "stale" in {fault.code for fault in faults}
