"""A small invented plant with a random history, recorded through the product in random order.

The facts are kept beside it as the pure replay takes them, so that what the database holds can be
compared with what the facts alone say.
"""

import random
from datetime import UTC, date, datetime, timedelta

from fleet import ledger
from fleet.actions import installations, obligations, positions
from fleet.calc import duedates
from fleet.calc.durations import parse_duration
from fleet.calc.groups import Member
from fleet.faults import Refused
from fleet.models import (
    Installation,
    IntervalDecision,
    Obligation,
    ObligationSpan,
    PositionDuty,
    ServiceEvent,
)
from fleet.replay_facts import event_of
from tests import factories

FIRST, DAYS = date(2020, 1, 1), 1500
DEVICE_WORK = ("lever", "in_place_test", "bench_test", "overhaul", "overhaul")
PLACE_WORK = ("visual", "replacement")
OWED = (  # activity, kind, parameters, counts_from, shelf_limit
    ("bench_test", "max_gap", {"gap": "P1Y"}, "done_on", ""),
    ("overhaul", "max_gap", {"gap": "P2Y"}, "installed_on", "P6M"),
    ("lever", "by_history", {}, "done_on", ""),
    (
        "in_place_test",
        "calendar",
        {"times": 1, "unit": "year", "n": 1, "gap": "P15M"},
        "commissioned_on",
        "",
    ),
    ("visual", "max_gap", {"gap": "P6M"}, "done_on", ""),
    ("replacement", "max_gap", {"gap": "P3Y"}, "done_on", ""),
)
EVENT_FIELDS = (
    *("pk", "device_id", "position_id", "activity", "done_on"),
    *("as_found_percent", "as_found_bound", "as_found_verdict", "is_counted"),
)
COLUMNS = (
    "from_on",
    "until_on",
    "state",
    "due_on",
    "target_on",
    "last_on",
    "event",
    "decision",
    "limit",
    "device",
)


class Plant:
    """Two positions and three devices; `steps` is everything that happens to them.

    What a step needs may not have been recorded yet (a void before its event, a spell that meets
    one not yet closed): then it is recorded later. So any order of steps ends the same.
    """

    def __init__(self, seed: int, *, owed=OWED):
        self.dice = random.Random(seed)
        self.by = factories.UserFactory()
        self.at = datetime(2024, 6, 1, tzinfo=UTC)
        self.unit = factories.UnitFactory()
        self.positions = [self._position() for _ in range(2)]
        self.devices = [factories.DeviceFactory(site=self.unit.site) for _ in range(3)]
        self.owed = [self._obligation(p, *row) for p in self.positions for row in owed]
        self.events: dict[int, ServiceEvent] = {}
        self.voided: set[int] = set()
        self.spells: dict[tuple, Installation] = {}
        self.decisions: list[IntervalDecision] = []
        self.duties: list[PositionDuty] = []
        self.steps = [*self._moves(), *self._works(), *self._decisions(), *self._closures()]
        self._replay(self.positions)

    # what there is

    def _position(self):
        on = self.dice.choice([None, self._day()])
        place = factories.PositionFactory(unit=self.unit, commissioned_on=on)
        factories.PositionDutyFactory(position=place)
        return place

    def _obligation(self, position, activity, kind, parameters, counts_from, shelf_limit):
        rule = factories.IntervalRuleFactory(kind=kind, parameters=parameters)
        return factories.ObligationFactory(
            position=position,
            activity=activity,
            rule=rule,
            counts_from=counts_from,
            shelf_limit=shelf_limit,
        )

    def _day(self) -> date:
        return FIRST + timedelta(self.dice.randrange(DAYS))

    # what happens, as steps to be recorded in any order

    def _moves(self):
        """Devices swapped about: the fitting with its end, or the end said later."""
        spells: list[list] = []
        for day in sorted(self._day() for _ in range(self.dice.randint(4, 9))):
            device, place = self.dice.choice(self.devices), self.dice.choice(self.positions)
            for spell in spells:
                if spell[3] is None and (spell[0] == device or spell[1] == place):
                    spell[3] = day
            spells.append([device, place, day, None])
        for device, place, start, end in spells:
            if start == end:
                continue
            if end is None or self.dice.random() < 0.5:
                yield "fit", (device, place, start, end)
            else:
                yield "fit_and_remove", (device, place, start, end)
                yield "remove", (device, place, start, end)

    def _works(self):
        for number in range(self.dice.randint(5, 12)):
            activity = self.dice.choice([*DEVICE_WORK, *PLACE_WORK])
            places = self.positions if activity in PLACE_WORK else self.devices
            yield "work", (number, activity, self.dice.choice(places), self._day())
            if self.dice.random() < 0.3:
                yield "void", (number,)

    def _decisions(self):
        for obligation in self.dice.sample(self.owed, k=min(4, len(self.owed))):
            for day in {self._day() for _ in range(self.dice.randint(1, 2))}:
                act_by = self.dice.choice([None, day + timedelta(40)])
                interval = self.dice.choice(["P3M", "P1Y", "P30M"])
                yield "decide", (obligation, day, interval, act_by)

    def _closures(self):
        for place in self.positions:
            for day in {self._day() for _ in range(self.dice.randint(0, 2))}:
                status = self.dice.choice(["out_of_service", "in_service"])
                yield "change", (place, day, status)

    # recording

    def record(self, steps, after=lambda: None):
        """Record every step, in this order as far as the product lets it."""
        waiting = list(steps)
        while waiting:
            step = waiting.pop(0)
            self.at += timedelta(hours=1)
            try:
                getattr(self, step[0])(*step[1])
            except (Refused, KeyError):
                waiting.append(step)
            else:
                after()

    def fit(self, device, place, start, end):
        spell = Installation(position=place, device=device, installed_on=start, removed_on=end)
        installations.fit([spell], by=self.by, at=self.at)
        self.spells[device.pk, start] = spell
        self._replay_spell(spell)

    def fit_and_remove(self, device, place, start, end):
        """Fitted until further notice, if nothing recorded before this ends it."""
        try:
            self.fit(device, place, start, None)
        except Refused:
            self.fit(device, place, start, end)

    def remove(self, device, place, start, end):
        spell = self.spells[device.pk, start]
        if spell.removed_on is not None:
            return
        installations.remove([(spell, end, "")], by=self.by, at=self.at)
        self._replay_spell(spell)

    def work(self, number, activity, owner, day):
        noun = "position" if activity in PLACE_WORK else "device"
        event = ServiceEvent(site=self.unit.site, activity=activity, done_on=day, ref=str(number))
        setattr(event, noun, owner)
        self.find(number, event)
        [self.events[number]] = ledger.record([event], by=self.by, at=self.at)

    def find(self, number, event):
        """What the first pop said: nothing here."""

    def void(self, number):
        ledger.void([self.events[number]], reason="entered twice", by=self.by, at=self.at)
        self.voided.add(number)

    def decide(self, obligation, day, interval, act_by):
        row = IntervalDecision(
            obligation=obligation,
            from_on=day,
            interval=interval,
            act_by=act_by,
            reason="its history",
            decided_by=self.by,
        )
        obligations.decide([row], by=self.by, at=self.at)
        self.decisions.append(row)
        self._replay([obligation.position])

    def change(self, place, day, status):
        duty = PositionDuty(
            position=place,
            from_on=day,
            tag=place.tag,
            unit=self.unit,
            status=status,
            set_pressure="150 psig",
        )
        duty.set_pressure = PositionDuty._meta.get_field("set_pressure").to_python("150 psig")
        positions.change_duties([duty], by=self.by, at=self.at)
        self.duties.append(duty)
        self._replay([place])

    def _replay(self, places):
        ledger.replay_positions([place.pk for place in places], at=self.at)

    def _replay_spell(self, spell):
        ledger.replay_positions(ledger.concerned_by([spell]), at=self.at)

    # what the facts alone say

    def said_by_facts(self, obligation: Obligation) -> list[tuple]:
        member = self.member(obligation)
        return [tuple(span) for span in duedates.replay(*member[1:])]

    def member(self, obligation: Obligation) -> Member:
        """The facts as the pure replay takes them."""
        position = obligation.position
        spells = [
            duedates.Spell(s.device_id, s.position_id, s.installed_on, s.removed_on)
            for s in self.spells.values()
        ]
        events = [
            event_of(*(getattr(e, name) for name in EVENT_FIELDS))
            for number, e in self.events.items()
            if number not in self.voided
        ]
        decisions = [
            duedates.Decision(d.pk, d.from_on, parse_duration(d.interval), d.act_by)
            for d in self.decisions
            if d.obligation_id == obligation.pk
        ]
        entered = position.in_service_on
        standings = [duedates.Standing(None, entered is None)]
        if entered:
            standings.append(duedates.Standing(entered, True))
        limit = obligation.shelf_limit
        owed = duedates.Owed(
            obligation.activity,
            obligation.rule.shape,
            obligation.counts_from,
            parse_duration(limit) if limit else None,
            position.commissioned_on,
            None,
            None,
            obligation.season,
            position.in_service_on,
        )
        place = self.place(position)
        facts = (spells, events, decisions, standings, place)
        return Member(obligation.pk, owed, position.pk, *facts)

    def place(self, position) -> duedates.Place:
        """What happened there beside the work; days the duty says out of service among it."""
        duties = sorted(
            (d for d in self.duties if d.position_id == position.pk), key=lambda d: d.from_on
        )
        ends = [*(d.from_on for d in duties), None][1:]
        return duedates.Place(
            [
                duedates.Idle(d.from_on, end)
                for d, end in zip(duties, ends, strict=True)
                if d.status == "out_of_service"
            ]
        )

    def stored(self, obligation: Obligation, moment=None) -> list[tuple]:
        """The spans the ledger held at a moment, or holds now, in order."""
        rows = ObligationSpan.objects.known(moment).filter(obligation=obligation)
        names = {"event": "event_id", "decision": "decision_id", "device": "device_id"}
        columns = [names.get(name, name) for name in COLUMNS]
        ordered = sorted(rows.values_list(*columns), key=lambda row: row[0])
        return [_in_span_order(row) for row in ordered]


def _in_span_order(row: tuple) -> tuple:
    """As `duedates.Span` orders its fields."""
    return tuple(dict(zip(COLUMNS, row, strict=True))[name] for name in duedates.Span._fields)
