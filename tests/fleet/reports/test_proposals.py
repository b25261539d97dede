"""Open proposals on the lines of the due list and in the scope of an outage.

What they stand on is the product's own contract: the lines of tests, overhauls and disc changes of
the position, or every line where it owes none of these.
"""

from datetime import UTC, date, datetime

import pytest

from fleet.models import Proposal
from fleet.reports.due import Ask, DueList, due_rows
from fleet.reports.outages import scope_of
from fleet.reports.proposals import Proposals
from fleet.stamps import stamp_lines
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY

pytestmark = pytest.mark.django_db
YESTERDAY = date(2026, 10, 30)
BEFORE = date(2026, 9, 20)  # 41 days before today


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory()


def said(as_of=TODAY, **ask):
    return {(row.tag, row.activity): row.open_proposal for row in due_rows(as_of, ask=Ask(**ask))}


def propose(place, on=BEFORE, **extra):
    return factories.ProposalFactory(position=place, raised_on=on, **extra)


def answer(row, on, how="declined"):
    by, at = factories.UserFactory(), datetime(on.year, on.month, on.day, 12, tzinfo=UTC)
    Proposal.objects.filter(pk=row.pk).update(
        answered_on=on, answered_at=at, answered_by=by, answer=how, answer_words="x"
    )


@pytest.mark.parametrize("as_of", [TODAY, YESTERDAY])
def test_it_is_said_with_its_age_on_every_line_that_an_interval_of_tests_governs(unit, as_of):
    place = plant.due(unit, "PSV-1", date(2028, 1, 1)).position
    for activity in ("overhaul", "disc_change", "in_place_test", "visual", "lever"):
        plant.owed(place, activity=activity, due_on=date(2028, 1, 1))
    plant.due(unit, "PSV-2", date(2028, 1, 1))
    propose(place)
    words = f"as-received failure, open {41 if as_of == TODAY else 40} days"
    found = said(as_of)
    assert {key[1] for key, value in found.items() if value} == {
        "bench_test", "overhaul", "disc_change", "in_place_test"
    }  # fmt: skip
    assert set(found.values()) == {words, None} and found["PSV-2", "bench_test"] is None
    assert {key for key, value in found.items() if value} == set(said(as_of, proposal="open"))


@pytest.mark.parametrize("as_of", [TODAY, YESTERDAY])
def test_where_no_test_is_owed_every_line_says_it(unit, as_of):
    visual = plant.position(unit, "PSV-1")
    plant.owed(visual, activity="visual", due_on=date(2028, 1, 1))
    bare = plant.position(unit, "PSV-2")
    plant.fitted(bare)
    stamp_lines([bare])
    for place in (visual, bare):
        propose(place)
    assert all(said(as_of).values())
    assert len(said(as_of, proposal="open")) == 2


def test_of_several_the_oldest_is_said(unit):
    place = plant.due(unit, "PSV-1", date(2028, 1, 1)).position
    propose(place, date(2026, 10, 30), kind="waived_test")
    assert said()["PSV-1", "bench_test"] == "waived test, open 1 day"
    propose(place, date(2026, 10, 1))
    propose(place, date(2026, 10, 31), kind="new_service")
    assert said()["PSV-1", "bench_test"] == "as-received failure, open 30 days, +2 more"


def test_it_is_open_from_its_day_until_its_answer(unit):
    place = plant.due(unit, "PSV-1", date(2028, 1, 1)).position
    row = propose(place)
    answer(row, YESTERDAY)
    days = (date(2026, 9, 19), BEFORE, date(2026, 10, 29), YESTERDAY, TODAY)
    found = [said(day)["PSV-1", "bench_test"] for day in days]
    assert found == [
        None, "as-received failure, open 0 days", "as-received failure, open 39 days", None, None
    ]  # fmt: skip


def test_one_that_was_withdrawn_never_was_but_was_known(unit):
    place = plant.due(unit, "PSV-1", date(2028, 1, 1)).position
    answer(propose(place), YESTERDAY, "withdrawn")
    assert said(BEFORE)["PSV-1", "bench_test"] is None
    evening = datetime(2026, 10, 29, 23, tzinfo=UTC)
    [known] = DueList(date(2026, 10, 1), None, Ask(), evening).every_row()
    assert known.open_proposal == "as-received failure, open 11 days"


def test_one_that_nobody_had_written_down_was_not_known(unit):
    place = plant.due(unit, "PSV-1", date(2028, 1, 1)).position
    propose(place, recorded_at=datetime(2026, 10, 20, tzinfo=UTC))
    evening = datetime(2026, 10, 19, 23, tzinfo=UTC)
    [known] = DueList(date(2026, 10, 19), None, Ask(), evening).every_row()
    assert known.open_proposal is None
    assert said(date(2026, 10, 19))["PSV-1", "bench_test"]


def test_the_scope_of_an_outage_counts_and_says_it(unit):
    row = factories.OutageFactory(site=unit.site, units=[unit])
    place = plant.due(unit, "PSV-1", date(2027, 6, 1)).position
    plant.due(unit, "PSV-2", date(2027, 6, 1))
    propose(place)
    scope = scope_of(row, DueList(TODAY))
    assert scope.proposed == 1
    assert [line["open_proposal"] for line in scope.as_dicts()] == [
        "as-received failure, open 41 days", None
    ]  # fmt: skip


def test_they_cost_one_query_however_many_are_open(unit, django_assert_num_queries):
    for number in range(12):
        place = plant.due(unit, f"PSV-{number}", date(2028, 1, 1)).position
        propose(place)
        propose(place, kind="waived_test")
    lines = DueList(TODAY).lines()
    with django_assert_num_queries(1):
        proposals = Proposals.about(lines, TODAY)
        assert len([line for line in lines if proposals.of(line)]) == 12
