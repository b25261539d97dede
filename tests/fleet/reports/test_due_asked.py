"""The due list asked: filters, sorts, counts, whose lines, and what a page costs."""

from datetime import date

import pytest

from fleet.reports.due import Ask, DueList, due_rows
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


def row(tag, as_of=TODAY, **ask):
    return next(r for r in due_rows(as_of, ask=Ask(**ask)) if r.tag == tag)


def tags(as_of=TODAY, **ask):
    return [r.tag for r in due_rows(as_of, ask=Ask(**ask))]


def test_every_filter_narrows_and_the_find_box_reads_tag_number_and_serial(unit):
    other = factories.UnitFactory(site=unit.site, name="Urea")
    plant.due(unit, "PSV-1", date(2028, 1, 1), number="N-1", serial="AB7", kind="bellows")
    plant.due(other, "PSV-2", date(2028, 1, 1), activity="overhaul", number="N-2", serial="CD8")
    unit.positions.update(fluid="Ammonia")
    for as_of in (TODAY, date(2026, 11, 1)):
        assert tags(as_of, unit=other.pk) == ["PSV-2"]
        assert tags(as_of, activity="overhaul") == ["PSV-2"]
        assert tags(as_of, kind="bellows") == ["PSV-1"]
        assert tags(as_of, fluid="ammon") == ["PSV-1"]
        assert tags(as_of, find="psv-2") == ["PSV-2"]
        assert tags(as_of, find="n-1") == ["PSV-1"]
        assert tags(as_of, find="cd8") == ["PSV-2"]
        assert tags(as_of, site=unit.site_id) == ["PSV-1", "PSV-2"]
        assert tags(as_of, status="compliant") == ["PSV-1", "PSV-2"]
        assert tags(as_of, status="overdue") == []


@pytest.mark.parametrize("sort", ["tag", "activity", "state", "due_on", "last_outage"])
@pytest.mark.parametrize("as_of", [TODAY, date(2026, 11, 1)])
def test_every_sort_turns_round_and_keeps_every_row(unit, sort, as_of):
    factories.OutageFactory(site=unit.site, units=[unit])
    for number, day in enumerate((date(2026, 1, 1), date(2027, 6, 1), date(2026, 12, 1))):
        plant.due(unit, f"PSV-{number}", day)
    listing = DueList(as_of)
    forth = [r.tag for r in listing.rows(sort=sort)]
    back = [r.tag for r in listing.rows(sort=f"-{sort}")]
    assert sorted(forth) == sorted(back) == ["PSV-0", "PSV-1", "PSV-2"]
    if sort in ("tag", "state", "due_on"):
        assert back == forth[::-1]
    if sort == "due_on":
        assert forth == ["PSV-0", "PSV-2", "PSV-1"]


@pytest.mark.parametrize("as_of", [TODAY, date(2026, 11, 1)])
def test_counts_are_those_of_the_rows(unit, as_of):
    plant.due(unit, "LATE", date(2026, 1, 1))
    plant.due(unit, "SOON", date(2026, 12, 1))
    plant.due(unit, "FAR", date(2029, 12, 1))
    plant.owed(plant.position(unit, "EMPTY"), state="no_device")
    listing = DueList(as_of)
    counts = listing.counts()
    rows = listing.rows()
    assert counts["all"] == listing.count() == len(rows) == 4
    for status in ("overdue", "overdue_deferred", "due_soon", "compliant", "no_device"):
        assert counts.get(status, 0) == sum(r.status == status for r in rows)
    assert counts["no_opportunity"] == 2


def test_a_user_sees_the_lines_of_their_sites_only(unit):
    plant.due(unit, "MINE", date(2028, 1, 1))
    plant.due(factories.UnitFactory(), "THEIRS", date(2028, 1, 1))
    user = factories.MembershipFactory(site=unit.site).user
    for as_of in (TODAY, date(2026, 11, 1)):
        assert [r.tag for r in due_rows(as_of, user=user)] == ["MINE"]
        assert len(list(due_rows(as_of))) == 2


@pytest.mark.parametrize("as_of", [TODAY, date(2026, 11, 1)])
def test_a_page_costs_the_same_queries_for_three_rows_and_for_thirty(
    unit, as_of, django_assert_num_queries, django_assert_max_num_queries
):
    def plants(numbers):
        for n in numbers:
            plant.due(unit, f"PSV-{n:02}", date(2028, 1, 1))
            plant.owed(plant.position(unit, f"E-{n:02}"), state="no_device")

    plants(range(3))
    with django_assert_max_num_queries(10) as few:
        DueList(as_of).rows()
    plants(range(3, 30))
    with django_assert_num_queries(len(few.captured_queries)):
        assert len(DueList(as_of).rows()) == 60
