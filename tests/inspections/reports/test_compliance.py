"""The compliance list: the span of the day, what was known by an evening, and the evidence."""

from datetime import date, datetime, time

import pytest
from django.utils import timezone

from fleet.reports.due_ask import Ask
from fleet.stamps import stamp_lines
from inspections.reports.compliance import COLUMNS, ComplianceList, summary_of
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.inspections.reports.records import dated

pytestmark = pytest.mark.django_db
YESTERDAY = date(2026, 10, 30)


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


def rows(as_of=TODAY, known_on=None, **ask):
    return list(ComplianceList(as_of, known_on, None, Ask(**ask)).every_row())


def row(tag="PSV-1", as_of=TODAY, known_on=None):
    return next(r for r in rows(as_of, known_on) if r.tag == tag)


def test_the_columns_are_those_of_the_exchange_contract():
    assert ",".join(COLUMNS) == (
        "as_of,site,unit,tag,device,serial,kind,equipment,set_pressure,activity,rule,source,"
        "interval,interval_basis,last_done_on,ref,done_by,verified_by,description,result,opened_at,"
        "reseated_at,disposition,due_on,status,deferred_until,deferral_policy,"
        "deferral_approved_by,open_questions,late_entry"
    )


def test_a_line_without_a_device_or_an_obligation_is_a_line(unit):
    bare, empty = plant.position(unit, "PSV-1"), plant.position(unit, "PSV-2")
    plant.fitted(bare, "D-1")
    stamp_lines([bare, empty])
    for day in (TODAY, YESTERDAY):
        assert {r.tag: r.status for r in rows(day)} == {
            "PSV-1": "no_obligation",
            "PSV-2": "no_device",
        }


def test_the_answer_is_that_of_the_span_of_the_day(unit):
    place = plant.position(unit, "PSV-1")
    device = plant.fitted(place)
    obligation = factories.ObligationFactory(position=place, rule=plant.rule())
    for from_on, until_on, due_on in (
        (date(2015, 1, 1), date(2021, 6, 1), date(2020, 1, 1)),
        (date(2021, 6, 1), None, date(2026, 6, 1)),
    ):
        event = factories.ServiceEventFactory(device=device, done_on=from_on)
        factories.ObligationSpanFactory(
            obligation=obligation,
            from_on=from_on,
            until_on=until_on,
            state="dated",
            due_on=due_on,
            last_on=from_on,
            event=event,
            device=device,
        )
    stamp_lines([place])
    assert (row(as_of=date(2020, 1, 1)).status) == "due_soon"  # the last day still complies
    assert (row(as_of=date(2020, 1, 2)).status) == "overdue"
    assert row(as_of=date(2021, 5, 31)).last_done_on == date(2015, 1, 1)
    assert row(as_of=date(2021, 6, 1)).last_done_on == date(2021, 6, 1)
    assert row().status == "overdue"


def test_what_was_written_down_later_was_not_known(unit):
    """The test of June 2021 was written down in 2022: on its own evening nobody knew of it."""
    place = plant.position(unit, "PSV-1")
    device = plant.fitted(place)
    obligation = factories.ObligationFactory(position=place, rule=plant.rule())
    late = datetime.combine(date(2022, 2, 1), time(12), tzinfo=timezone.get_current_timezone())
    same = {"obligation": obligation, "state": "dated", "device": device}
    factories.ObligationSpanFactory(
        from_on=date(2015, 1, 1), due_on=date(2020, 1, 1), superseded_at=late, **same
    )
    factories.ObligationSpanFactory(
        from_on=date(2015, 1, 1),
        until_on=date(2021, 6, 1),
        due_on=date(2020, 1, 1),
        recorded_at=late,
        **same,
    )
    factories.ObligationSpanFactory(
        from_on=date(2021, 6, 1), due_on=date(2026, 6, 1), recorded_at=late, **same
    )
    stamp_lines([place])
    day = date(2021, 12, 31)
    assert row(as_of=day).status == "compliant"
    assert row(as_of=day, known_on=date(2022, 1, 31)).status == "overdue"
    assert row(as_of=day, known_on=date(2022, 2, 1)).status == "compliant"  # known by its evening


def test_a_position_nobody_had_listed_yet_was_not_known(unit):
    place = plant.position(unit, "PSV-1")
    stamp_lines([place])
    assert [r.status for r in rows(YESTERDAY, date(2020, 1, 2))] == ["no_device"]
    assert rows(YESTERDAY, date(2020, 1, 1)) == []


def test_a_device_taken_out_later_than_known_was_still_in(unit):
    place = plant.position(unit, "PSV-1")
    device = factories.DeviceFactory(site=place.site, number="D-1")
    noted = datetime.combine(date(2021, 3, 1), time(12), tzinfo=timezone.get_current_timezone())
    factories.InstallationFactory(
        position=place,
        device=device,
        installed_on=date(2019, 1, 1),
        removed_on=date(2021, 1, 1),
        closed_at=noted,
        closed_by=factories.UserFactory(),
    )
    stamp_lines([place])
    day = date(2021, 2, 1)
    assert row(as_of=day).status == "no_device"
    assert row(as_of=day, known_on=day).status == "no_obligation"
    assert row(as_of=day, known_on=day).device == "D-1"


def test_a_deferral_counts_from_the_day_it_was_approved_and_written_down(unit):
    obligation, *_ = dated(unit, due_on=date(2025, 3, 1))
    factories.DeferralFactory(
        obligation=obligation,
        due_on=date(2025, 3, 1),
        until_on=date(2027, 3, 1),
        approved_on=date(2025, 2, 1),
        approved_by=factories.UserFactory(name="Ann Prover"),
    )
    stamp_lines([obligation.position])
    for day in (TODAY, YESTERDAY):
        assert row(as_of=day).status == "overdue_deferred"
        assert row(as_of=day).deferral_policy == "assessed"
        assert row(as_of=day).deferral_approved_by == "Ann Prover"
    assert row(as_of=date(2025, 1, 31)).deferred_until is None


def test_the_filters_and_counts_are_those_of_the_rows(unit):
    dated(unit)
    other = factories.UnitFactory(site=unit.site)
    plant.due(other, "LATE", date(2026, 1, 1))
    assert [r.tag for r in rows(unit=other.pk)] == ["LATE"]
    assert [r.tag for r in rows(status="compliant")] == ["PSV-1"]
    assert [r.tag for r in rows(find="s1")] == ["PSV-1"]
    summary = summary_of(ComplianceList(TODAY, YESTERDAY))
    assert (summary["as_of"], summary["as_known_on"]) == (TODAY, YESTERDAY)
    counts = ComplianceList(TODAY).counts()
    assert (counts["all"], counts["overdue"], counts["compliant"]) == (2, 1, 1)


@pytest.mark.parametrize("known_on", [None, YESTERDAY])
@pytest.mark.parametrize("as_of", [TODAY, YESTERDAY])
def test_a_page_costs_the_same_queries_for_three_rows_and_for_thirty(
    unit, as_of, known_on, django_assert_num_queries, django_assert_max_num_queries
):
    def plants(numbers):
        for n in numbers:
            plant.due(unit, f"PSV-{n:02}", date(2028, 1, 1))

    plants(range(3))
    with django_assert_max_num_queries(14) as few:
        ComplianceList(as_of, known_on).rows()
    plants(range(3, 30))
    with django_assert_num_queries(len(few.captured_queries)):
        assert len(ComplianceList(as_of, known_on).rows()) == 30
