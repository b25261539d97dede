"""A past day is kept like today, and is what working that day out in memory gives.

The check is the product against itself by two other ways: `screened_review` keeps nothing, and
`restate` reads no chain.
"""

from datetime import date, timedelta

import pytest

from inspections.actions.acknowledge import acknowledge
from inspections.kept import past_days
from inspections.kept.catching_up import catch_up, catch_up_if_few
from inspections.models import FlagState, Screening, SettingState
from inspections.reports.settings_ask import screened_review
from inspections.reports.settings_kept import KeptReview
from tests import factories
from tests.factories import RECORDED_AT
from tests.inspections.kept.kept_rows import from_the_ground_up, kept
from tests.inspections.kept.random_writes import Writes
from tests.inspections.kept.test_catching_up import drifting_fleet
from tests.inspections.reports.records import record, written

pytestmark = pytest.mark.django_db
DAY = date(2021, 6, 30)


def listed(day):
    """Rows of the kept list of a day, in order, with every column that is exported."""
    screening = Screening.objects.get(day=day)
    return [row.as_dict() for row in KeptReview(day, screening).every_row()]


@pytest.mark.parametrize("seed", range(3))
def test_after_any_writes_a_past_day_is_what_working_it_out_gives(seed):
    plant = Writes(seed)
    for _ in range(12):
        plant.visited()
    for turn in range(10):
        for _ in range(plant.dice.randint(1, 4)):
            plant.write()
        catch_up(at=plant.at)
        catch_up(at=plant.at, day=DAY)
        assert kept(DAY) == from_the_ground_up(plant.at, DAY), f"seed {seed}, turn {turn}"
        assert kept() == from_the_ground_up(plant.at), f"seed {seed}, turn {turn}"
        worked_out = [row.as_dict() for row in screened_review(DAY)]
        flagged = [row for row in worked_out if row["flags"]]
        found = listed(DAY)
        assert sorted(map(str, found)) == sorted(map(str, worked_out)), f"seed {seed}, turn {turn}"
        if not FlagState.objects.exclude(acknowledgement=None).exists():
            assert found[: len(flagged)] == flagged
    assert FlagState.objects.filter(state__screening__day=DAY).exists()


def test_statistics_of_a_past_day_are_of_what_was_found_by_then():
    """One that drifts among many; what is found after the day takes its drift back."""
    device = drifting_fleet()
    record(device, date(2022, 3, 1), ref="after", rings=("-90 notches", "-7 notches"))
    written([device])
    at = RECORDED_AT + timedelta(days=2000)
    catch_up(at=at, day=date(2021, 12, 31))
    [flag] = FlagState.objects.filter(code="trending")
    assert flag.state.device == device
    catch_up(at=at)
    assert not FlagState.objects.filter(code="trending", state__screening__day=None).exists()


def test_an_answer_counts_from_the_day_it_was_given():
    row = factories.DeviceFactory()
    record(row, date(2016, 3, 1), found="160 psig")
    written([row])
    catch_up(at=RECORDED_AT)
    flag = FlagState.objects.get()
    acknowledge(
        device=row.pk,
        setting="set_pressure",
        code=flag.code,
        fingerprint=flag.fingerprint,
        note="The gauge was off",
        by=factories.UserFactory(),
        at=RECORDED_AT,
    )
    given_on = RECORDED_AT.date()
    later = RECORDED_AT + timedelta(days=2)
    for day in (given_on - timedelta(days=1), given_on):
        catch_up(at=later, day=day)
    answered = FlagState.objects.values_list("state__screening__day", "acknowledgement__note")
    assert set(answered) == {
        (None, "The gauge was off"),
        (given_on, "The gauge was off"),
        (given_on - timedelta(days=1), None),
    }


def test_only_the_last_few_past_days_are_kept_and_today_always():
    row = factories.DeviceFactory()
    record(row, date(2016, 3, 1), found="160 psig")
    written([row])
    catch_up(at=RECORDED_AT)
    days = [date(2020, 1, 1) + timedelta(days=n) for n in range(past_days.DAYS + 2)]
    for n, day in enumerate(days):
        catch_up_if_few(at=RECORDED_AT + timedelta(minutes=n), day=day)
    left = {None, *days[-past_days.DAYS :]}
    assert set(Screening.objects.values_list("day", flat=True)) == left
    assert set(SettingState.objects.values_list("screening__day", flat=True)) == left
    assert set(FlagState.objects.values_list("state__screening__day", flat=True)) == left


def test_a_past_day_is_not_made_again_because_days_pass_or_today_is():
    row = factories.DeviceFactory()
    written([row])
    catch_up(at=RECORDED_AT, day=DAY)
    before = Screening.objects.get(day=DAY).stamp
    catch_up(at=RECORDED_AT + timedelta(days=3))
    catch_up(at=RECORDED_AT + timedelta(days=3), day=DAY)
    assert Screening.objects.get(day=DAY).stamp == before
