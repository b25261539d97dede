"""The pages of proposals: what waits, from which record, and how an engineer answers."""

from datetime import date

import pytest

from fleet.models import IntervalDecision, ObligationSpan, Proposal
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, streamed, text
from tests.inspections.reports.records import record

pytestmark = pytest.mark.django_db
BEFORE = date(2026, 9, 20)
SAID = {"accept-interval": "3 years", "accept-from_on": "2026-10-31", "accept-reason": "low again"}


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


@pytest.fixture
def engineer(unit):
    return signed_in("engineer", unit.site)


@pytest.fixture
def owed(unit):
    """Five years since 2024-01-01."""
    return plant.due(unit, "PSV-1", date(2029, 1, 1), last_on=date(2024, 1, 1))


@pytest.fixture
def row(owed):
    reason = "opened at 143 psig, -4.67 %; the time before, 2024-01-01 (I-6), no lift"
    return factories.ProposalFactory(
        position=owed.position, source="I-7", raised_on=BEFORE, reason=reason
    )


def accept(client, row, owed, **changes):
    given = {**SAID, "accept-obligation": owed.pk, **changes}
    return client.post(f"/proposals/{row.pk}/accept/", given)


def decline(client, row, words):
    return client.post(f"/proposals/{row.pk}/decline/", {"decline-reason": words})


def test_the_list_says_what_happened_since_when_and_what_is_owed(engineer, unit, owed, row):
    inspection = record(factories.DeviceFactory(site=unit.site), BEFORE, ref="I-7")
    newer = plant.due(unit, "PSV-2", date(2028, 1, 1)).position
    factories.ProposalFactory(position=newer, raised_on=date(2026, 10, 1), kind="new_service",
                              source="duty from 2026-10-01 (MOC-7)")  # fmt: skip
    said = text(engineer.get("/proposals/"))
    assert said.index("PSV-1") < said.index("PSV-2")  # oldest first
    assert "As-received failure" in said and "open 41 days" in said
    assert f'record <a href="/inspections/{inspection.pk}/">I-7</a>' in said
    assert "duty from 1 Oct 2026 (MOC-7)" in said
    assert "the time before, 1 Jan 2024 (I-6)" in said
    assert "Bench test, due 1 Jan 2029" in said and "5 years after 1 Jan 2024" in said


def test_answered_ones_stand_apart_with_who_and_why(engineer, row):
    decline(engineer, row, "the gauge was wrong")
    assert "No proposal waits for an answer" in text(engineer.get("/proposals/"))
    said = text(engineer.get("/proposals/?answered=yes"))
    assert "Declined" in said and "the gauge was wrong" in said and str(engineer.user) in said


def test_it_is_exported_as_it_is_filtered(engineer, row):
    lines = streamed(engineer.get("/proposals/?export=csv")).decode().splitlines()
    assert lines[0].startswith("site,unit,tag,kind,reason,source,raised_on,days_open")
    assert "PSV-1,as_received_failure" in lines[1] and ",I-7,2026-09-20,41," in lines[1]


def test_the_date_is_shown_before_anything_is_decided(engineer, owed, row):
    response = accept(engineer, row, owed, show="1")
    assert response.status_code == 200
    said = text(response)
    assert "due 1 January 2029 now" in said and "<b>1 January 2027</b>" in said
    assert 'value="3 years"' in said and "Nothing is decided yet" in said
    assert not IntervalDecision.objects.exists()


def test_accepting_decides_and_moves_the_date(engineer, owed, row):
    response = accept(engineer, row, owed)
    assert response.status_code == 302
    decision = IntervalDecision.objects.get()
    assert (decision.interval, decision.decided_by) == ("P3Y", engineer.user)
    assert decision.evidence == "as-received failure, I-7"
    assert ObligationSpan.objects.known().on(TODAY).get().due_on == date(2027, 1, 1)
    row.refresh_from_db()
    assert (row.answer, row.decision) == ("accepted", decision)
    assert "decided on 3 years from 31 Oct 2026" in text(engineer.get(response["Location"]))


@pytest.mark.parametrize(("changes", "field", "words"), [
    ({"accept-interval": "often"}, "interval", "expected an interval such as 3 years"),
    ({"accept-interval": "9 years"}, "interval", "expected no longer than"),
    ({"accept-from_on": "2026-10-30"}, "from_on", "a decision never changes days that are past"),
    ({"accept-reason": " "}, "reason", "This field is required"),
    ({"accept-interval": "1 year"}, "act_by", "Name a day to act by"),
    ({"accept-obligation": "0"}, "obligation", "Select a valid choice"),
])  # fmt: skip
@pytest.mark.parametrize("show", [{}, {"show": "1"}])
def test_what_cannot_be_is_said_beside_its_field(engineer, owed, row, changes, field, words, show):
    response = accept(engineer, row, owed, **changes, **show)
    assert response.status_code == 422
    errors = response.context["accepting"].errors
    assert list(errors) == [field] and words in str(errors[field])
    assert not IntervalDecision.objects.exists()
    row.refresh_from_db()
    assert row.answered_on is None


def test_an_interval_that_is_past_shows_what_acting_by_a_day_gives(engineer, owed, row):
    given = {"accept-interval": "1 year", "accept-act_by": "2026-12-31"}
    assert "<b>31 December 2026</b>" in text(accept(engineer, row, owed, show="1", **given))
    accept(engineer, row, owed, **given)
    assert ObligationSpan.objects.known().on(TODAY).get().due_on == date(2026, 12, 31)


def test_after_a_waived_test_it_is_shortened(engineer, owed):
    """API RP 576 6.2.9."""
    row = factories.ProposalFactory(position=owed.position, kind="waived_test", raised_on=BEFORE)
    response = accept(engineer, row, owed, **{"accept-interval": "5 years"})
    assert "less than 5 years, now in force" in text(response)


def test_declining_keeps_the_reason(engineer, row):
    assert "This field is required" in text(decline(engineer, row, "  "))
    assert decline(engineer, row, "the gauge was wrong").status_code == 302
    row.refresh_from_db()
    assert (row.answer, row.answer_words) == ("declined", "the gauge was wrong")
    said = text(engineer.get(f"/proposals/{row.pk}/"))
    assert "Declined" in said and "Decide this interval" not in said


def test_a_second_answer_is_refused(engineer, owed, row):
    decline(engineer, row, "the gauge was wrong")
    assert "declined it on 31 Oct 2026" in text(accept(engineer, row, owed))
    assert decline(engineer, row, "again").status_code == 422


def test_where_nothing_takes_an_interval_the_page_says_so(engineer, unit):
    place = plant.position(unit, "PSV-9")
    rule = factories.IntervalRuleFactory(
        kind="after_event", parameters={"kinds": ["release"], "days": 5}
    )
    factories.ObligationFactory(position=place, rule=rule)
    row = factories.ProposalFactory(position=place, raised_on=BEFORE)
    said = text(engineer.get(f"/proposals/{row.pk}/"))
    assert "Nothing owed here takes an interval" in said and "Decide this interval" not in said
    assert "Leave the interval as it is" in said


@pytest.mark.parametrize("role", ["planner", "mechanic", "auditor"])
def test_others_read_it_and_cannot_answer(unit, owed, row, role):
    client = signed_in(role, unit.site)
    said = text(client.get(f"/proposals/{row.pk}/"))
    assert "An engineer of the site answers it" in said and "<textarea" not in said
    assert accept(client, row, owed).status_code == decline(client, row, "x").status_code == 403


def test_an_engineer_elsewhere_who_only_reads_here_cannot_answer(unit, owed, row):
    client = signed_in("auditor", unit.site)
    factories.MembershipFactory(user=client.user, role="engineer")
    assert accept(client, row, owed).status_code == decline(client, row, "x").status_code == 403


def test_it_stands_on_the_position_s_page_with_its_story(engineer, owed, row):
    place = f"/positions/{owed.position_id}/"
    said = text(engineer.get(place))
    assert "Open proposal, as-received failure" in said and f"/proposals/{row.pk}/" in said
    decline(engineer, row, "the gauge was wrong")
    said = text(engineer.get(place))
    assert "Open proposal" not in said
    assert "Proposal declined: as-received failure" in said and "the gauge was wrong" in said


@pytest.mark.parametrize("address", ["/due/", "/due/?proposal=open", "/compliance/"])
def test_it_stands_on_the_lists_with_its_age(engineer, row, address):
    said = text(engineer.get(address))
    assert f'<a href="/proposals/{row.pk}/">As-received failure, open 41 days</a>' in said


def test_it_stands_in_the_scope_of_an_outage(engineer, unit, row):
    outage = factories.OutageFactory(site=unit.site, units=[unit])
    said = text(engineer.get(f"/outages/{outage.pk}/"))
    assert "As-received failure, open 41 days" in said and "with an open proposal" in said


def test_the_due_list_leads_to_those_that_wait(engineer, unit, row):
    plant.due(unit, "PSV-2", date(2028, 1, 1))
    assert 'href="/proposals/">proposal to look at an interval' in text(engineer.get("/due/"))
    filtered = text(engineer.get("/due/?proposal=open"))
    assert "PSV-1" in filtered and "PSV-2" not in filtered


@pytest.mark.parametrize("address", ["/proposals/", "/proposals/?answered=yes"])
def test_the_list_costs_the_same_for_three_and_for_thirty(
    engineer, unit, address, django_assert_max_num_queries, django_assert_num_queries
):
    def proposals(numbers):
        for number in numbers:
            owed = plant.due(unit, f"PSV-{number:02}", date(2028, 1, 1))
            row = factories.ProposalFactory(position=owed.position, raised_on=BEFORE)
            if "answered" in address:
                by = {"answered_by": engineer.user, "answered_at": row.recorded_at}
                Proposal.objects.filter(pk=row.pk).update(
                    answered_on=TODAY, answer="declined", answer_words="x", **by
                )

    proposals(range(3))
    with django_assert_max_num_queries(22) as few:
        engineer.get(address)
    proposals(range(3, 30))
    with django_assert_num_queries(len(few.captured_queries)):
        assert len(engineer.get(address).context["table"].page) == 30
