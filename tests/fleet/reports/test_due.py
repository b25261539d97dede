"""The due list: statuses of the exchange contract, reasons, outages, and any other day."""

from datetime import date

import pytest

from fleet.models import DueLine, ObligationSpan
from fleet.reports.due import COLUMNS, Ask, due_rows
from fleet.stamps import stamp_lines
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


def test_the_columns_are_those_of_the_exchange_contract():
    assert ",".join(COLUMNS) == (
        "site,unit,tag,device,serial,kind,activity,rule,counts_from,last_done_on,target_on,due_on,"
        "status,days_left,deferred_until,open_proposal,last_outage_before_due,next_outage,reason"
    )


@pytest.mark.parametrize(
    ("due_on", "status", "days_left"),
    [
        (date(2026, 10, 30), "overdue", -1),
        (date(2026, 10, 31), "due_soon", 0),  # due_on is the last day on which it still complies
        (date(2027, 1, 29), "due_soon", 90),
        (date(2027, 1, 30), "compliant", 91),
    ],
)
def test_the_last_day_still_complies_and_soon_is_ninety_days(unit, due_on, status, days_left):
    plant.due(unit, "PSV-1", due_on)
    assert (row("PSV-1").status, row("PSV-1").days_left) == (status, days_left)


def test_a_deferral_that_runs_is_never_green_and_an_expired_one_is_plain_overdue(unit):
    obligation = plant.due(unit, "PSV-1", date(2026, 9, 30))
    factories.DeferralFactory(
        obligation=obligation, due_on=date(2026, 9, 30), until_on=date(2027, 3, 31)
    )
    stamp_lines([obligation.position])
    assert row("PSV-1").status == "overdue_deferred"
    assert row("PSV-1").deferred_until == date(2027, 3, 31)
    assert "(assessed), approved by" in row("PSV-1").reason
    assert row("PSV-1", as_of=date(2027, 3, 31)).status == "overdue_deferred"
    assert row("PSV-1", as_of=date(2027, 4, 1)).status == "overdue"
    assert row("PSV-1", as_of=date(2026, 11, 1)).status == "overdue_deferred"


def test_a_deferral_is_not_known_before_it_was_approved(unit):
    obligation = plant.due(unit, "PSV-1", date(2024, 9, 30))
    factories.DeferralFactory(
        obligation=obligation,
        due_on=date(2024, 9, 30),
        until_on=date(2027, 3, 31),
        approved_on=date(2024, 12, 1),
    )
    assert row("PSV-1", as_of=date(2024, 11, 30)).status == "overdue"
    assert row("PSV-1", as_of=date(2024, 12, 1)).status == "overdue_deferred"


def test_what_nobody_listed_is_a_row(unit):
    bare, empty = plant.position(unit, "PSV-1"), plant.position(unit, "PSV-2")
    device = plant.fitted(bare, "D-1")
    stamp_lines([bare, empty])
    assert (row("PSV-1").status, row("PSV-1").device) == ("no_obligation", device.number)
    assert row("PSV-2").status == "no_device"
    assert row("PSV-2").reason == "no device was ever fitted"


@pytest.mark.parametrize("state", ["no_device", "no_record", "interval_not_set", "not_required"])
def test_a_state_without_a_date_is_its_own_status_and_says_why(unit, state):
    place = plant.position(unit, "PSV-1")
    device = plant.fitted(place) if state != "no_device" else None
    plant.owed(place, state=state, device=device)
    assert row("PSV-1").status == state
    assert row("PSV-1").reason
    assert row("PSV-1").due_on is None and row("PSV-1").days_left is None


def test_the_reason_names_the_interval_the_day_it_counts_from_and_the_source(unit):
    plant.due(unit, "PSV-1", date(2028, 4, 2), last_on=date(2023, 4, 2))
    assert row("PSV-1").reason == "5 years after 2023-04-02 (the owner's own)"
    assert row("PSV-1").last_done_on == date(2023, 4, 2)


def test_a_decision_is_named_in_the_reason(unit):
    place = plant.position(unit, "PSV-1")
    device = plant.fitted(place)
    obligation = factories.ObligationFactory(position=place, rule=plant.rule())
    decision = factories.IntervalDecisionFactory(
        obligation=obligation, from_on=date(2025, 5, 9), interval="P3Y", reason="two low pops"
    )
    factories.ObligationSpanFactory(
        obligation=obligation,
        from_on=date(2025, 5, 9),
        state="dated",
        due_on=date(2028, 4, 2),
        last_on=date(2025, 4, 2),
        decision=decision,
        device=device,
        limit="decision",
    )
    stamp_lines([place])
    reason = row("PSV-1").reason
    assert reason.startswith("3 years after 2025-04-02")
    assert "two low pops" in reason and str(decision.decided_by) in reason


def test_nothing_that_is_owed_hides_behind_a_horizon(unit):
    plant.due(unit, "LATE", date(2026, 1, 1))
    plant.due(unit, "NEAR", date(2027, 3, 1))
    plant.due(unit, "FAR", date(2028, 3, 1))
    for state in ("no_device", "no_record", "interval_not_set", "not_required"):
        place = plant.position(unit, state.upper())
        plant.owed(place, state=state)
    bare = plant.position(unit, "NO_OBLIGATION")
    plant.fitted(bare)
    stamp_lines([bare])
    shown = {"LATE", "NEAR", "NO_DEVICE", "NO_RECORD", "INTERVAL_NOT_SET", "NO_OBLIGATION"}
    until = date(2027, 4, 29)
    assert set(tags(until=until)) == shown
    assert set(tags(as_of=date(2026, 11, 1), until=until)) == shown


def test_the_last_outage_before_the_due_date_serves_it_if_it_begins_by_then(unit):
    plant.due(unit, "ON", date(2027, 5, 1))
    plant.due(unit, "BEFORE", date(2027, 4, 30))
    plant.due(unit, "AFTER", date(2030, 1, 1))
    factories.OutageFactory(site=unit.site, name="Spring 2027", units=[unit])
    factories.OutageFactory(
        site=unit.site,
        name="Autumn 2028",
        units=[unit],
        starts_on=date(2028, 9, 1),
        ends_on=date(2028, 9, 30),
    )
    assert row("ON").last_outage_before_due == "Spring 2027"
    assert row("BEFORE").last_outage_before_due is None
    assert row("AFTER").last_outage_before_due == "Autumn 2028"
    assert {row(tag).next_outage for tag in ("ON", "BEFORE", "AFTER")} == {"Spring 2027"}
    assert tags(status="no_opportunity") == ["BEFORE"]


@pytest.mark.parametrize(
    ("status", "counts"),
    [("planned", True), ("under_way", True), ("draft", False), ("cancelled", False)],
)
def test_only_an_outage_that_stands_can_serve(unit, status, counts):
    plant.due(unit, "PSV-1", date(2028, 1, 1))
    factories.OutageFactory(site=unit.site, name="Spring", units=[unit], status=status)
    assert (row("PSV-1").next_outage == "Spring") is counts


def test_an_outage_that_is_past_serves_nobody(unit):
    plant.due(unit, "PSV-1", date(2028, 1, 1))
    factories.OutageFactory(
        site=unit.site, units=[unit], starts_on=date(2026, 5, 1), ends_on=date(2026, 5, 20)
    )
    assert row("PSV-1").last_outage_before_due is None


def test_an_earlier_day_is_answered_from_what_held_then(unit):
    place = plant.position(unit, "PSV-1")
    device = plant.fitted(place)
    obligation = factories.ObligationFactory(position=place, rule=plant.rule())
    for from_on, until_on, due_on in (
        (date(2015, 1, 1), date(2021, 6, 1), date(2020, 1, 1)),
        (date(2021, 6, 1), None, date(2026, 6, 1)),
    ):
        factories.ObligationSpanFactory(
            obligation=obligation,
            from_on=from_on,
            until_on=until_on,
            state="dated",
            due_on=due_on,
            last_on=from_on,
            device=device,
            limit="gap",
        )
    stamp_lines([place])
    assert row("PSV-1").due_on == date(2026, 6, 1)
    assert row("PSV-1", as_of=date(2021, 5, 31)).due_on == date(2020, 1, 1)
    assert row("PSV-1", as_of=date(2021, 5, 31)).status == "overdue"
    assert row("PSV-1", as_of=date(2021, 6, 1)).status == "compliant"


def test_what_was_superseded_is_not_believed(unit):
    obligation = plant.due(unit, "PSV-1", date(2028, 1, 1))
    ObligationSpan.objects.filter(obligation=obligation).update(superseded_at=factories.RECORDED_AT)
    assert row("PSV-1", as_of=date(2026, 10, 30)).status == "no_obligation"


def test_another_day_lists_the_same_positions_as_today(unit):
    plant.due(unit, "LATE", date(2026, 1, 1))
    plant.due(unit, "NEAR", date(2027, 1, 1))
    plant.position(unit, "EMPTY")
    bare = plant.position(unit, "BARE")
    plant.fitted(bare)
    gone = plant.position(unit, "GONE", status="removed")
    stamp_lines([bare, gone, *(p for p in [unit.positions.get(tag="EMPTY")])])
    today = [r.as_dict() for r in due_rows(TODAY)]
    DueLine.objects.all().update(holds_until=TODAY)  # stale: today is then read from the spans
    assert [r.as_dict() for r in due_rows(TODAY)] == today
    assert [(r["tag"], r["status"]) for r in today] == [
        ("BARE", "no_obligation"),
        ("EMPTY", "no_device"),
        ("LATE", "overdue"),
        ("NEAR", "due_soon"),
        ("GONE", "not_required"),
    ]


def test_a_fact_dated_ahead_makes_the_stamp_stale_on_its_day(unit, settings):
    place = plant.position(unit, "PSV-1")
    device = plant.fitted(place)
    obligation = factories.ObligationFactory(position=place, rule=plant.rule())
    for from_on, until_on, due_on in (
        (date(2024, 1, 1), date(2026, 12, 1), date(2029, 1, 1)),
        (date(2026, 12, 1), None, date(2027, 1, 1)),
    ):
        factories.ObligationSpanFactory(
            obligation=obligation,
            from_on=from_on,
            until_on=until_on,
            state="dated",
            due_on=due_on,
            last_on=date(2024, 1, 1),
            device=device,
            limit="gap",
        )
    stamp_lines([place])
    assert row("PSV-1").due_on == date(2029, 1, 1)
    settings.FIXED_TODAY = date(2026, 12, 1)
    assert row("PSV-1", as_of=date(2026, 12, 1)).due_on == date(2027, 1, 1)
