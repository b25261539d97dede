"""Proposals answered: by an engineer, with a decision or a reason, once.

After a waived test the interval is shortened: API RP 576 6.2.9. The interval itself is held to its
rule by `tests/fleet/actions/test_decisions.py`.
"""

from datetime import UTC, date, datetime

import pytest

from fleet.actions.decisions import takes_decision
from fleet.actions.duty_proposals import of_duties
from fleet.actions.positions import change_duties
from fleet.actions.proposals import accept, decline, raise_proposals, withdraw
from fleet.calc.units import GAUGE, parse_quantity
from fleet.faults import Refused
from fleet.models import AuditEntry, IntervalDecision, ObligationSpan, PositionDuty, Proposal
from fleet.reports import proof
from tests import factories
from tests.fleet.reports import plant

pytestmark = pytest.mark.django_db
TODAY, NOW = date(2023, 5, 1), datetime(2023, 5, 1, 12, tzinfo=UTC)
LAST = date(2020, 1, 1)


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def place():
    return plant.position(factories.UnitFactory(), "PSV-1")


@pytest.fixture
def owed(place):
    """Five years since the last test."""
    device = plant.fitted(place)
    return plant.owed(place, due_on=date(2025, 1, 1), last_on=LAST, device=device)


@pytest.fixture
def engineer(place):
    return factories.MembershipFactory(site=place.site, role="engineer").user


def unsaved(place, kind="as_received_failure", source="R-1"):
    return Proposal(position=place, kind=kind, reason="x", source=source, raised_on=TODAY)


def raised(place, kind="as_received_failure", source="R-1"):
    by = factories.UserFactory()
    [row] = raise_proposals([unsaved(place, kind, source)], by=by, at=NOW)
    return row


def wanted(owed, interval="P4Y", **changes):
    about = {"from_on": TODAY, "act_by": None, "reason": "opened low"}
    return IntervalDecision(obligation=owed, interval=interval, **about | changes)


def refusal(call, *arguments, by):
    with pytest.raises(Refused) as refused:
        call(*arguments, by=by, at=NOW)
    return "; ".join(str(fault) for fault in refused.value.faults)


def test_a_cause_is_proposed_once(place):
    by = factories.UserFactory()
    same, other = unsaved(place), unsaved(place, kind="waived_test")
    assert len(raise_proposals([unsaved(place), same, other], by=by, at=NOW)) == 2
    assert raise_proposals([unsaved(place)], by=by, at=NOW) == []
    assert Proposal.objects.count() == 2
    entries = AuditEntry.objects.filter(action="proposal raised")
    assert entries.count() == 2


def test_accepted_it_is_a_decision_and_moves_the_date(place, owed, engineer):
    row = raised(place)
    decision = accept(row, wanted(owed), by=engineer, at=NOW)
    row.refresh_from_db()
    assert (row.answer, row.answered_on, row.answered_by) == ("accepted", TODAY, engineer)
    assert (row.decision, row.answer_words) == (decision, "opened low")
    assert (decision.decided_by, decision.interval) == (engineer, "P4Y")
    assert ObligationSpan.objects.known().on(TODAY).get().due_on == date(2024, 1, 1)
    assert not Proposal.objects.open_on(TODAY).exists()
    assert Proposal.objects.count() == 1


def test_before_its_answer_it_was_open(place, owed, engineer):
    row = raised(place)
    later = datetime(2023, 5, 20, 12, tzinfo=UTC)
    decline(row, "the gauge was wrong", by=engineer, at=later)
    assert list(Proposal.objects.open_on(date(2023, 5, 19))) == [row]
    assert not Proposal.objects.open_on(date(2023, 5, 20)).exists()
    assert not Proposal.objects.open_on(date(2023, 4, 30)).exists()
    assert list(Proposal.objects.open_on(date(2023, 5, 20), known_at=NOW)) == [row]


@pytest.mark.parametrize("role", ["planner", "mechanic", "auditor", "administrator"])
def test_only_an_engineer_of_the_site_answers(place, owed, role):
    row = raised(place)
    by = factories.MembershipFactory(site=place.site, role=role).user
    assert "an engineer of the site" in refusal(decline, row, "no", by=by)
    assert "an engineer of the site" in refusal(accept, row, wanted(owed), by=by)
    elsewhere = factories.MembershipFactory(role="engineer").user
    assert "an engineer of the site" in refusal(decline, row, "no", by=elsewhere)
    assert not IntervalDecision.objects.exists()


@pytest.mark.parametrize("words", ["", "   "])
@pytest.mark.parametrize("kind", ["as_received_failure", "waived_test"])
def test_declining_needs_a_reason(place, engineer, words, kind):
    assert "why the interval stays" in refusal(decline, raised(place, kind), words, by=engineer)


def test_an_answer_is_given_once(place, owed, engineer):
    row = raised(place)
    decline(row, "the gauge was wrong", by=engineer, at=NOW)
    assert "declined it on 2023-05-01" in refusal(decline, row, "again", by=engineer)
    assert "declined it on 2023-05-01" in refusal(accept, row, wanted(owed), by=engineer)


@pytest.mark.parametrize("interval", ["P5Y", "P60M"])
def test_after_a_waived_test_the_interval_is_shortened(place, owed, engineer, interval):
    row = raised(place, "waived_test")
    words = refusal(accept, row, wanted(owed, interval), by=engineer)
    assert "less than 5 years, now in force" in words and "API RP 576" in words
    accept(row, wanted(owed, "P4Y"), by=engineer, at=NOW)
    again = raised(place, "waived_test", "R-2")
    words = refusal(accept, again, wanted(owed, "P4Y", from_on=date(2023, 6, 1)), by=engineer)
    assert "less than 4 years" in words


def test_another_failure_may_keep_the_interval_by_decision(place, owed, engineer):
    accept(raised(place), wanted(owed, "P5Y"), by=engineer, at=NOW)
    assert ObligationSpan.objects.known().on(TODAY).get().due_on == date(2025, 1, 1)


def test_the_decision_is_held_to_its_rule(place, owed, engineer):
    row = raised(place)
    assert "interval" in refusal(accept, row, wanted(owed, "P6Y"), by=engineer)
    assert "interval" in refusal(accept, row, wanted(owed, "soon"), by=engineer)
    row.refresh_from_db()
    assert row.answered_on is None


def test_it_is_about_this_position(place, owed, engineer):
    other = raised(plant.position(place.unit, "PSV-2"))
    assert "something owed at PSV-2" in refusal(accept, other, wanted(owed), by=engineer)


def test_what_takes_no_interval_is_told_so(place, engineer):
    """33 CFR 156.170(f): before the season; 40 CFR 63.165: within five days of a release."""
    for kind, parameters in (
        ("before_use", {"lead": "P30D", "window": "P1Y"}),
        ("after_event", {"kinds": ["release"], "days": 5}),
    ):
        rule = factories.IntervalRuleFactory(kind=kind, parameters=parameters)
        row = factories.ObligationFactory(position=place, rule=rule, season="10-01")
        assert not takes_decision(row)
        words = refusal(accept, raised(place, source=kind), wanted(row), by=engineer)
        assert "takes no interval from a decision" in words


def test_withdrawn_it_never_was(place, engineer):
    row, answered = raised(place), raised(place, source="R-2")
    decline(answered, "the gauge was wrong", by=engineer, at=NOW)
    withdraw([row, answered], "R-1 was corrected by R-3", by=engineer, at=NOW)
    row.refresh_from_db()
    answered.refresh_from_db()
    assert (row.answer, row.answer_words) == ("withdrawn", "R-1 was corrected by R-3")
    assert answered.answer == "declined"
    assert not Proposal.objects.open_on(TODAY).exists()


def test_all_of_it_is_in_the_chain(place, owed, engineer):
    accept(raised(place), wanted(owed), by=engineer, at=NOW)
    decline(raised(place, source="R-2"), "no", by=engineer, at=NOW)
    ours = ("fleet_proposal", "fleet_intervaldecision")
    said = [str(d) for d in proof.differences() if d.kind != "row" or d.where.startswith(ours)]
    assert said == []


# a duty that changes from a day


def psig(value):
    return parse_quantity(f"{value} psig", (GAUGE,))


def next_duty(place, on=TODAY, **changes):
    before = PositionDuty.objects.filter(position=place).order_by("pk").last()
    names = ("tag", "unit", "status", "set_pressure", "fluid", "phase", "severity")
    values = {name: getattr(before, name) for name in names} | changes
    return PositionDuty(position=place, from_on=on, **values)


def proposed():
    rows = Proposal.objects.order_by("pk")
    return [(row.kind, row.reason, row.source, row.raised_on) for row in rows]


def test_a_duty_s_new_pressure_and_service_are_two_proposals(place):
    duty = next_duty(place, set_pressure=psig(160), fluid="caustic", moc="MOC-7")
    change_duties([duty], by=factories.UserFactory(), at=NOW)
    source = "duty from 2023-05-01 (MOC-7)"
    assert proposed() == [
        ("new_set_pressure", "set pressure 150 psig to 160 psig", source, TODAY),
        ("new_service", "fluid not given to caustic", source, TODAY),
    ]


def test_the_same_pressure_in_another_unit_is_no_new_one(place):
    """1 bar = 100 kPa."""
    by = factories.UserFactory()
    change_duties(
        [next_duty(place, set_pressure=parse_quantity("10 barg", (GAUGE,)))], by=by, at=NOW
    )
    count = Proposal.objects.count()
    same = next_duty(place, date(2023, 6, 1), set_pressure=parse_quantity("1000 kPag", (GAUGE,)))
    change_duties([same], by=by, at=NOW)
    assert Proposal.objects.count() == count == 1


def test_another_tag_or_discharge_is_no_cause(place):
    duty = next_duty(place, tag="PSV-1A", discharge="flare")
    change_duties([duty], by=factories.UserFactory(), at=NOW)
    assert proposed() == []


def test_a_change_from_a_later_day_is_open_from_that_day(place):
    duty = next_duty(place, date(2023, 9, 1), phase="steam")
    change_duties([duty], by=factories.UserFactory(), at=NOW)
    assert not Proposal.objects.open_on(date(2023, 8, 31)).exists()
    assert Proposal.objects.open_on(date(2023, 9, 1)).exists()


def test_each_duty_is_compared_with_the_one_before_it(place):
    factories.PositionDutyFactory(position=place, from_on=date(2022, 1, 1), severity="mild")
    duty = factories.PositionDutyFactory(position=place, from_on=TODAY, severity="severe")
    [row] = of_duties([duty])
    assert row.reason == "severity mild to severe"
    assert len(of_duties([duty], filled_in=False)) == 1
    first = PositionDuty.objects.get(position=place, from_on=date(2022, 1, 1))
    assert [len(of_duties([first], filled_in=is_told)) for is_told in (True, False)] == [1, 0]
