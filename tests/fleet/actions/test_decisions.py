"""An interval decided by an engineer: held to the rule, and seen before it is written.

Source of the rules: API 510 6.6.2 (from memory) for five years that a decision may lengthen; the
worked decision (five years since 2020-01-01, three from 2023-06-01) is the workbook's own contract.
"""

from datetime import UTC, date, datetime

import pytest

from fleet.actions import decisions
from fleet.faults import Refused
from fleet.models import AuditEntry, DueLine, IntervalDecision, ObligationSpan
from tests import factories
from tests.fleet.reports import plant

pytestmark = pytest.mark.django_db
TODAY = date(2023, 5, 1)
NOW = datetime(2023, 5, 1, 12, tzinfo=UTC)
LAST, FROM = date(2020, 1, 1), date(2023, 6, 1)


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def owed():
    return five_years()


def five_years(**parameters):
    return owed_under("max_gap", {"gap": "P5Y", **parameters}, date(2025, 1, 1))


def owed_under(kind, parameters, due_on):
    place = plant.position(factories.UnitFactory(), "PSV-1")
    device = plant.fitted(place)
    event = factories.ServiceEventFactory(device=device, activity="bench_test", done_on=LAST)
    rule = factories.IntervalRuleFactory(kind=kind, parameters=parameters)
    row = factories.ObligationFactory(position=place, rule=rule)
    factories.ObligationSpanFactory(
        obligation=row, from_on=LAST, state="dated" if due_on else "interval_not_set",
        due_on=due_on, last_on=LAST if due_on else None, event=event if due_on else None,
        device=device,
    )  # fmt: skip
    return row


def engineer(owed):
    return factories.MembershipFactory(site=owed.position.site, role="engineer").user


def wanted(owed, **changes):
    about = {"from_on": FROM, "interval": "P3Y", "act_by": date(2023, 9, 30), "reason": "two low"}
    return IntervalDecision(obligation=owed, **about | changes)


def refusal(owed, **changes):
    with pytest.raises(Refused) as refused:
        decisions.decide(wanted(owed, **changes), by=engineer(owed), at=NOW)
    [fault] = refused.value.faults
    assert not IntervalDecision.objects.exists() and not AuditEntry.objects.exists()
    return fault


def test_a_decision_is_signed_replayed_and_in_the_chain(owed):
    by = engineer(owed)
    row = decisions.decide(wanted(owed), by=by, at=NOW)
    assert (row.decided_by, row.recorded_by) == (by, by)
    spans = ObligationSpan.objects.known().filter(obligation=owed, due_on__isnull=False)
    found = [(span.from_on, span.due_on) for span in spans.order_by("from_on")]
    assert found == [(LAST, date(2025, 1, 1)), (FROM, date(2023, 9, 30))]
    assert DueLine.objects.get().due_on == date(2025, 1, 1)  # it holds from its day on
    assert AuditEntry.objects.get().action == "interval decided"


def test_what_it_would_do_is_seen_and_nothing_is_written(owed):
    seen = decisions.outlook(wanted(owed))
    assert (seen.before.due_on, seen.after.due_on) == (date(2025, 1, 1), date(2023, 9, 30))
    assert (seen.must_act, seen.act_by_until) == (True, date(2025, 1, 1))
    assert not IntervalDecision.objects.exists() and not AuditEntry.objects.exists()
    assert ObligationSpan.objects.count() == 1


def test_what_is_seen_is_what_is_written(owed):
    for changes in ({}, {"interval": "P4Y", "act_by": None}, {"interval": "P50M", "act_by": None}):
        seen = decisions.outlook(wanted(owed, **changes)).after
        row = five_years()
        decisions.decide(wanted(row, **changes), by=engineer(row), at=NOW)
        span = ObligationSpan.objects.known().on(FROM).get(obligation=row)
        assert (span.due_on, span.limit, span.state) == (seen.due_on, seen.limit, seen.state)


def test_an_interval_that_is_past_needs_a_day_to_act_by(owed):
    fault = refusal(owed, act_by=None)
    assert (fault.field, fault.code) == ("act_by", "act_by_missing")
    assert "no later than 2025-01-01" in fault.expected


@pytest.mark.parametrize(
    ("act_by", "words"),
    [
        (date(2023, 5, 31), "no day before the decision holds, 2023-06-01"),
        (date(2025, 1, 2), "only a deferral gives leave"),
    ],
)
def test_a_day_to_act_by_lies_between_the_decision_and_the_due_date(owed, act_by, words):
    fault = refusal(owed, act_by=act_by)
    assert fault.field == "act_by" and words in fault.expected


def test_where_the_interval_is_not_past_no_day_is_named(owed):
    fault = refusal(owed, interval="P4Y", act_by=date(2023, 9, 30))
    assert fault.field == "act_by" and "due on 2024-01-01" in fault.expected


def test_a_decision_gives_no_leave_to_what_is_overdue():
    """Two years since 2020-01-01 were over in 2022; to decide on one cannot make it compliant."""
    row = owed_under("max_gap", {"gap": "P2Y"}, date(2022, 1, 1))
    fault = refusal(row, interval="P1Y")
    assert fault.field == "act_by" and "only a deferral gives leave" in fault.expected
    decisions.decide(wanted(row, interval="P1Y", act_by=None), by=engineer(row), at=NOW)
    assert ObligationSpan.objects.known().on(FROM).get().due_on == date(2021, 1, 1)


def test_a_first_interval_that_is_past_names_any_later_day():
    row = owed_under("by_history", {}, None)
    assert refusal(row, act_by=None).field == "act_by"
    decisions.decide(wanted(row), by=engineer(row), at=NOW)
    assert ObligationSpan.objects.known().on(FROM).get().due_on == date(2023, 9, 30)


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"interval": "five years"}, "interval", "ISO 8601"),
        ({"interval": "P1Y2W"}, "interval", "week"),
        ({"interval": "P6Y", "act_by": None}, "interval", "no longer than the rule's own 5 years"),
        ({"from_on": date(2023, 4, 30)}, "from_on", "never changes days that are past"),
        ({"reason": " "}, "reason", "why"),
    ],
)
def test_what_cannot_be_is_refused(owed, changes, field, words):
    fault = refusal(owed, **changes)
    assert fault.field == field and words in fault.expected


def test_past_the_rule_s_ceiling_is_refused_and_up_to_it_is_not():
    row = five_years(ceiling="P8Y")
    assert "the ceiling 8 years" in refusal(row, interval="P97M", act_by=None).expected
    decisions.decide(wanted(row, interval="P8Y", act_by=None), by=engineer(row), at=NOW)
    assert ObligationSpan.objects.known().on(FROM).get().due_on == date(2028, 1, 1)


def test_one_decision_takes_effect_a_day(owed):
    factories.IntervalDecisionFactory(obligation=owed, from_on=FROM)
    with pytest.raises(Refused) as refused:
        decisions.decide(wanted(owed), by=engineer(owed), at=NOW)
    assert refused.value.faults[0].field == "from_on"


def test_a_decision_finds_what_is_owed_on_its_day():
    row = factories.ObligationFactory(until_on=date(2023, 6, 1))
    assert "a day on which it is owed" in refusal(row, act_by=None).expected


@pytest.mark.parametrize("role", ["planner", "mechanic", "auditor", "administrator"])
def test_only_an_engineer_of_the_site_decides(owed, role):
    by = factories.MembershipFactory(site=owed.position.site, role=role).user
    factories.MembershipFactory(user=by, role="engineer")  # elsewhere
    with pytest.raises(Refused) as refused:
        decisions.decide(wanted(owed), by=by, at=NOW)
    assert [fault.field for fault in refused.value.faults] == ["decided_by"]


def test_of_a_sampled_group_the_whole_is_looked_at():
    """Two members; the one that is decided on is due when its own interval says."""
    rule = factories.IntervalRuleFactory(
        kind="group_sample",
        parameters={"fraction": "0.20", "window": "P48M", "gap": "P10Y", "expansion": 2,
                    "band": "3 %"},
    )  # fmt: skip
    unit = factories.UnitFactory()
    rows = []
    for tag in ("PSV-1", "PSV-2"):
        place = plant.position(unit, tag)
        device = plant.fitted(place)
        factories.ServiceEventFactory(device=device, activity="bench_test", done_on=LAST)
        rows.append(factories.ObligationFactory(position=place, rule=rule, group="steam"))
    seen = decisions.outlook(wanted(rows[1], interval="P4Y", act_by=None))
    assert seen.after.due_on == date(2024, 1, 1) and seen.before is None
