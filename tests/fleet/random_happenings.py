"""A random history with every kind of rule: releases, counters, seasons, days out of service, and
both positions sampled as one group, whose tests sometimes fail."""

from decimal import Decimal
from fractions import Fraction

from fleet.actions import happenings
from fleet.calc import duedates
from fleet.calc.groups import replay_group
from fleet.faults import Refused
from fleet.models import CounterReading, Obligation, OutOfService, Trigger
from tests import factories
from tests.fleet.random_history import FIRST, Plant

OWED = (  # activity, kind, parameters, counts_from, shelf_limit
    ("bench_test", "rolling", {"count": 2, "window": "P18M", "gap": "P1Y"}, "done_on", ""),
    (
        "bench_test",
        "capped",
        {"target": "P3M", "cap": "P120D", "out_of_service": "test_before_return"},
        "done_on",
        "",
    ),
    ("lever", "after_event", {"kinds": ["release", "alteration"], "days": 5}, "done_on", ""),
    ("visual", "after_event", {"kinds": ["irregularity"], "days": 0}, "done_on", ""),
    ("in_place_test", "usage", {"counter": "starts", "count": 40}, "commissioned_on", ""),
    ("in_place_test", "before_use", {"lead": "P0D", "window": "P6M"}, "done_on", ""),
    (
        "lever",
        "age_steps",
        {"steps": [["P1Y", "P1Y"], [None, "P3M"]], "out_of_service": "run"},
        "done_on",
        "",
    ),
    (
        "overhaul",
        "group_sample",
        {"fraction": "0.5", "window": "P9M", "gap": "P2Y", "expansion": 1, "band": "3 %"},
        "done_on",
        "",
    ),
)


class FullPlant(Plant):
    """Also: `tell`, `read`, `lay_up` and `bring_back`, and what first pops said."""

    def __init__(self, seed: int):
        self.triggers: list[Trigger] = []
        self.readings: list[CounterReading] = []
        self.idles: dict[tuple, OutOfService] = {}
        self.rules: dict[tuple, object] = {}
        super().__init__(seed, owed=OWED)
        self.steps += [*self._tellings(), *self._readings(), *self._idles()]

    def _position(self):
        place = super()._position()
        place.in_service_on = self.dice.choice([None, FIRST])
        place.save()
        return place

    def _obligation(self, position, activity, kind, parameters, counts_from, shelf_limit):
        key = (activity, kind)
        rule = self.rules.setdefault(
            key, factories.IntervalRuleFactory(kind=kind, parameters=parameters)
        )
        return factories.ObligationFactory(
            position=position,
            activity=activity,
            rule=rule,
            counts_from=counts_from,
            season="03-01" if kind == "before_use" else "",
            group="main steam" if kind == "group_sample" else "",
        )

    def _decisions(self):
        yield from ()

    def _tellings(self):
        kinds = ("release", "alteration", "irregularity", "process_change")
        for place in self.positions:
            rows = {(self.dice.choice(kinds), self._day()) for _ in range(self.dice.randint(0, 4))}
            for kind, day in sorted(rows):
                yield "tell", (place, kind, day)

    def _readings(self):
        for place in self.positions:
            for day in sorted({self._day() for _ in range(self.dice.randint(0, 5))}):
                yield "read", (place, day, (day - FIRST).days // 7)

    def _idles(self):
        for place in self.positions:
            days = sorted({self._day() for _ in range(4)})
            for start, end in zip(days[::2], days[1::2], strict=False):
                if self.dice.random() < 0.5:
                    yield "lay_up", (place, start, end)
                else:
                    yield "lay_up", (place, start, end, "later")
                    yield "bring_back", (place, start, end)

    def tell(self, place, kind, day):
        row = Trigger(position=place, kind=kind, happened_on=day)
        happenings.tell([row], by=self.by, at=self.at)
        self.triggers.append(row)

    def read(self, place, day, value):
        row = CounterReading(position=place, counter="starts", read_on=day, value=Decimal(value))
        happenings.read([row], by=self.by, at=self.at)
        self.readings.append(row)

    def lay_up(self, place, start, end, when="at once"):
        """Out until further notice, if nothing recorded before this forbids it."""
        try:
            self._lay_up(place, start, None if when == "later" else end)
        except Refused:
            self._lay_up(place, start, end)

    def _lay_up(self, place, start, end):
        row = OutOfService(position=place, from_on=start, to_on=end)
        happenings.lay_up([row], by=self.by, at=self.at)
        self.idles[place.pk, start] = row

    def bring_back(self, place, start, end):
        row = self.idles[place.pk, start]
        if row.to_on is None:
            happenings.bring_back([(row, end)], by=self.by, at=self.at)

    def find(self, number, event):
        dice = self.dice.__class__(number)
        verdict, percent = dice.choice([("in", "0.5"), ("high", "5"), ("low", "-2"), ("", "")])
        if event.device_id and percent:
            event.as_found_verdict, event.as_found_percent = verdict, Decimal(percent)
            event.is_counted = dice.random() < 0.8

    def place(self, position) -> duedates.Place:
        idles = [
            duedates.Idle(row.from_on, row.to_on)
            for (pk, _), row in self.idles.items()
            if pk == position.pk
        ]
        return duedates.Place(
            [*super().place(position).idles, *idles],
            [
                duedates.Reading(row.counter, row.read_on, Fraction(row.value))
                for row in self.readings
                if row.position_id == position.pk
            ],
            [
                duedates.Trigger(row.kind, row.happened_on)
                for row in self.triggers
                if row.position_id == position.pk
            ],
        )

    def said_by_facts(self, obligation: Obligation) -> list[tuple]:
        if obligation.rule.kind != "group_sample":
            return super().said_by_facts(obligation)
        sampled = [owed for owed in self.owed if owed.rule.kind == "group_sample"]
        sampled.sort(key=lambda owed: owed.position.tag)
        spans = replay_group([self.member(owed) for owed in sampled])
        return [tuple(span) for span in spans[obligation.pk]]
