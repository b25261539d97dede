"""The ledger holds exactly what a replay of the facts gives, whatever the order of recording.

The facts are random (seeded); what they say is asked of the pure replay, which a day-by-day oracle
proves elsewhere. The story of the swapped spare is told by name.
"""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db.models import F

from fleet import ledger, stamps
from fleet.actions import installations
from fleet.models import DueLine, Installation, ObligationSpan, Position, ServiceEvent
from tests import factories
from tests.fleet.random_happenings import FullPlant
from tests.fleet.random_history import OWED, Plant

pytestmark = pytest.mark.django_db
NOON = datetime(2024, 6, 1, 12, tzinfo=UTC)
SEEDS = range(8)


def shuffled(plant, seed):
    steps = list(plant.steps)
    plant.dice.__class__(seed).shuffle(steps)
    return steps


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("kind", [Plant, FullPlant])
def test_stored_spans_are_what_the_facts_say(kind, seed):
    plant = kind(seed)
    plant.record(shuffled(plant, seed))
    for obligation in plant.owed:
        assert plant.stored(obligation) == plant.said_by_facts(obligation)
    places = list(Position.objects.filter(unit=plant.unit))
    assert ledger.differences(places) == []
    assert stamps.differences(places) == []
    assert ledger.replay_positions([p.pk for p in places], at=plant.at) == 0


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("kind", [Plant, FullPlant])
def test_the_order_of_recording_does_not_matter(kind, seed):
    answers = []
    for order in (1, 2):
        plant = kind(seed)
        plant.record(shuffled(plant, order))
        answers.append([nameless(plant, obligation) for obligation in plant.owed])
    assert answers[0] == answers[1]


def nameless(plant, obligation):
    """The stored spans, with devices and events told by what they are, not by their keys."""
    devices = {device.pk: n for n, device in enumerate(plant.devices)}
    done = {event.pk: event.done_on for event in plant.events.values()}
    decided = {decision.pk: decision.from_on for decision in plant.decisions}
    *_, event, decision, limit, device = range(10)
    return [
        (*s[:event], done.get(s[event]), decided.get(s[decision]), s[limit], devices.get(s[device]))
        for s in plant.stored(obligation)
    ]


@pytest.mark.parametrize("seed", range(4))
def test_what_was_known_at_a_past_moment_is_still_known(seed):
    plant, told = Plant(seed), []

    def tell():
        told.append((plant.at, [plant.stored(obligation) for obligation in plant.owed]))

    plant.record(shuffled(plant, seed), after=tell)
    for moment, answers in told:
        assert [plant.stored(obligation, moment) for obligation in plant.owed] == answers


@pytest.mark.parametrize("seed", range(4))
def test_spans_are_added_and_superseded_never_rewritten(seed):
    plant, seen, open_before = Plant(seed), {}, set()

    def look():
        nonlocal open_before
        rows = {span.pk: span for span in ObligationSpan.objects.all()}
        for pk, was in seen.items():
            now = rows[pk]  # none is ever gone
            if was.superseded_at is not None:
                assert now.superseded_at == was.superseded_at
            now.superseded_at = was.superseded_at = None
            assert vars_of(now) == vars_of(was)
        seen.clear()
        seen.update({span.pk: span for span in ObligationSpan.objects.all()})
        still_open = {pk for pk, span in seen.items() if span.superseded_at is None}
        unchanged = {content(seen[pk]) for pk in still_open & open_before}
        written_anew = [content(seen[pk]) for pk in still_open - open_before]
        assert not unchanged & set(written_anew)  # what did not change was not written again
        open_before = still_open

    plant.record(shuffled(plant, seed), after=look)


def vars_of(row):
    return {name: value for name, value in vars(row).items() if not name.startswith("_")}


def content(span):
    return tuple(v for k, v in sorted(vars_of(span).items()) if k not in ("id", "recorded_at"))


@pytest.mark.parametrize("seed", range(4))
def test_due_lines_say_what_holds_today(seed):
    plant = Plant(seed)
    plant.record(shuffled(plant, seed))
    lines = DueLine.objects.filter(position__in=plant.positions)
    today = ObligationSpan.objects.known().on(stamps.clock.today())
    spans = today.filter(obligation__in=plant.owed)
    columns = ("obligation", "state", "due_on", "target_on", "last_on", "device")
    assert sorted(lines.values_list(*columns)) == sorted(spans.values_list(*columns))


@pytest.mark.parametrize("seed", range(3, 6))
@pytest.mark.parametrize("kind", [Plant, FullPlant])
def test_voiding_an_event_restores_the_date_before_it_exactly(kind, seed):
    plant = kind(seed)
    plant.record(shuffled(plant, 1))
    before = [plant.stored(obligation) for obligation in plant.owed]
    late = ServiceEvent(
        site=plant.unit.site,
        device=plant.devices[0],
        activity="overhaul",
        done_on=date(2021, 7, 1),
        ref="late",
        as_found_verdict="high",
        as_found_percent="7.5",
    )
    ledger.record([late], by=plant.by, at=NOON)
    assert [plant.stored(obligation) for obligation in plant.owed] != before
    ledger.void([late], reason="another device's sheet", by=plant.by, at=NOON)
    assert [plant.stored(obligation) for obligation in plant.owed] == before


def test_a_writer_who_waited_never_writes_into_the_past():
    """His moment is from before he waited; what others wrote meanwhile was known all the same."""
    plant = Plant(3)
    plant.record(plant.steps)
    late = ServiceEvent(
        site=plant.unit.site,
        device=plant.devices[0],
        activity="overhaul",
        done_on=date(2021, 7, 1),
        ref="late",
    )
    ledger.record([late], by=plant.by, at=plant.at - timedelta(hours=3))
    spans = ObligationSpan.objects.filter(obligation__in=plant.owed)
    assert spans.exclude(superseded_at=None).exists()
    assert not spans.filter(superseded_at__lt=F("recorded_at")).exists()


# The story: S1 leaves tag 101, the spare S2 goes in, S1 is overhauled a month later in the shop.


@pytest.fixture
def swap():
    """S1, tested 2023-01-10, out on 2024-03-01; S2, tested 2023-11-20, in on the same day."""
    place = factories.PositionFactory(tag="101")
    owed = factories.ObligationFactory(position=place)  # bench_test, 5 years
    by = factories.UserFactory()
    s1, s2 = (factories.DeviceFactory(number=n, site=place.site) for n in ("S1", "S2"))
    installations.fit(
        [
            spell(place, s1, date(2023, 1, 15), date(2024, 3, 1)),
            spell(place, s2, date(2024, 3, 1)),
        ],
        by=by,
        at=NOON,
    )
    ledger.record([test(s1, date(2023, 1, 10)), test(s2, date(2023, 11, 20))], by=by, at=NOON)
    return owed, s1, s2, by


def spell(place, device, start, end=None):
    return Installation(position=place, device=device, installed_on=start, removed_on=end)


def test(device, day, activity="bench_test"):
    return ServiceEvent(
        site=device.site, device=device, activity=activity, done_on=day, ref=f"{device} {day}"
    )


test.__test__ = False


def due(owed, day):
    return ObligationSpan.objects.known().on(day).get(obligation=owed)


def test_an_overhaul_in_the_shop_does_not_move_the_tag_the_device_has_left(swap):
    owed, s1, s2, by = swap
    ledger.record([test(s1, date(2024, 4, 2), "overhaul")], by=by, at=NOON)
    running = due(owed, date(2024, 5, 1))
    assert (running.device, running.due_on) == (s2, date(2028, 11, 20))
    assert due(owed, date(2024, 2, 1)).due_on == date(2028, 1, 10)


def test_the_overhaul_counts_wherever_the_device_is_fitted_next(swap):
    owed, s1, _, by = swap
    other = factories.ObligationFactory(
        position__unit__site=s1.site, position__tag="205", rule=owed.rule
    )
    ledger.record([test(s1, date(2024, 4, 2), "overhaul")], by=by, at=NOON)
    spells = [spell(other.position, s1, date(2024, 6, 1))]
    installations.fit(spells, by=by, at=NOON)
    ledger.replay_positions(ledger.concerned_by(spells), at=NOON)
    assert due(other, date(2024, 5, 31)).state == "no_device"
    assert due(other, date(2024, 6, 1)).due_on == date(2029, 4, 2)
    assert due(owed, date(2024, 6, 1)).due_on == date(2028, 11, 20)


def test_a_late_record_replays_every_position_the_device_has_since_served(swap):
    owed, s1, _, by = swap
    ledger.record([test(s1, date(2023, 12, 1))], by=by, at=NOON)  # while it was at 101
    assert due(owed, date(2024, 2, 1)).due_on == date(2028, 12, 1)
    assert due(owed, date(2023, 11, 30)).due_on == date(2028, 1, 10)
    assert due(owed, date(2024, 5, 1)).due_on == date(2028, 11, 20)


def test_an_unknown_device_gives_no_record_never_the_old_date(swap):
    owed, s1, s2, by = swap
    fresh = factories.DeviceFactory(site=s1.site)
    out = Installation.objects.get(device=s2)
    installations.remove([(out, date(2024, 5, 1), "")], by=by, at=NOON)
    spells = [spell(owed.position, fresh, date(2024, 5, 3))]
    installations.fit(spells, by=by, at=NOON)
    ledger.replay_positions(ledger.concerned_by([out, *spells]), at=NOON)
    assert due(owed, date(2024, 5, 2)).state == "no_device"
    assert due(owed, date(2024, 5, 3)).state == "no_record"
    assert due(owed, date(2024, 5, 3)).due_on is None


def test_every_kind_of_obligation_is_among_the_random_ones():
    assert {row[1] for row in OWED} == {"max_gap", "calendar", "by_history"}
    assert {row[3] for row in OWED} == {"done_on", "installed_on", "commissioned_on"}
