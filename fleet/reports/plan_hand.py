"""What people have settled about a site's plan: pins and bars, the plan in force, freezes."""

from collections import defaultdict
from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fleet.models import HandPlacing, LateScope, Outage, Plan, Site

VisitId = tuple[int, int]


@dataclass(frozen=True)
class Hand:
    """in_force: {obligation: outage, week or None} of the accepted plan; scope: {outage: the
    positions it takes}, frozen ones with what was approved since."""

    plan: Plan | None
    in_force: Mapping[int, Hashable]
    placings: Sequence[HandPlacing]
    scope: Mapping[int, frozenset[int]]
    day: date

    def accepted(self, visits: Iterable[VisitId]) -> dict[VisitId, Hashable]:
        """Where the plan in force has each visit; a visit it does not know is left out."""
        return {key: self.in_force[key[1]] for key in visits if key[1] in self.in_force}

    def pins(
        self, serving: Mapping[VisitId, Collection[Hashable]], outages: Collection[int]
    ) -> dict[VisitId, int]:
        """Of a pinned position the visits that its outage can serve; if it can serve none, all of
        them, so that the solver refuses and says why. serving: the slots that serve each visit."""
        at, pins = _by_position(serving), {}
        for placing in self.placings:
            pk = placing.outage_id
            if placing.kind != HandPlacing.Kind.PIN or pk not in outages:
                continue
            here = at[placing.position_id]
            served = [key for key in here if pk in serving[key]]
            pins |= dict.fromkeys(served or here, pk)
        return pins

    def bars(
        self, visits: Iterable[VisitId], outages: Mapping[int, Outage]
    ) -> frozenset[tuple[VisitId, int]]:
        """What is barred by hand, and a frozen outage to whatever is not in its scope."""
        at = _by_position(visits)
        barred = [p for p in self.placings if p.kind == HandPlacing.Kind.BAR]
        bars = {(key, p.outage_id) for p in barred for key in at[p.position_id]}
        for pk, taken in self.scope.items():
            if pk in outages and is_frozen(outages[pk], self.day):
                bars |= {(key, pk) for position in at.keys() - taken for key in at[position]}
        return frozenset(bar for bar in bars if bar[1] in outages)

    def pin_of(self, position: int, outage: int) -> HandPlacing | None:
        return self._placing(position, outage, HandPlacing.Kind.PIN)

    def why_barred(self, position: int, outage: Outage) -> str:
        """Why this outage may not take work at a position; "" where nothing was settled."""
        if bar := self._placing(position, outage.pk, HandPlacing.Kind.BAR):
            return f"barred by {bar.recorded_by}: {bar.words}"
        taken = self.scope.get(outage.pk)
        if taken is not None and position not in taken and is_frozen(outage, self.day):
            return f"its scope has been frozen since {outage.freeze_on}"
        return ""

    def _placing(self, position: int, outage: int, kind: str) -> HandPlacing | None:
        found = (p for p in self.placings if (p.position_id, p.outage_id) == (position, outage))
        return next((placing for placing in found if placing.kind == kind), None)


def _by_position(visits: Iterable[VisitId]) -> dict[int, list[VisitId]]:
    at: dict[int, list[VisitId]] = defaultdict(list)
    for key in visits:
        at[key[0]].append(key)
    return at


def is_frozen(outage: Outage, day: date) -> bool:
    return outage.freeze_on is not None and outage.freeze_on <= day


def hand_of(site: Site, day: date) -> Hand:
    """Four queries. Until a plan of the site is accepted a freeze holds nothing back: there is no
    scope yet that could be frozen."""
    plan = Plan.objects.in_force().filter(site=site).first()
    placings = HandPlacing.objects.standing().filter(outage__site=site)
    return Hand(
        plan,
        dict(_in_force(plan)),
        list(placings.select_related("position", "outage", "recorded_by")),
        scope_of(plan) if plan else {},
        day,
    )


def _in_force(plan: Plan | None) -> Iterable[tuple[int, Hashable]]:
    if plan is not None:
        rows = plan.jobs.values_list("obligation", "outage", "planned_on")
        yield from ((owed, outage or planned_on) for owed, outage, planned_on in rows)


def scope_of(plan: Plan) -> dict[int, frozenset[int]]:
    """The positions each outage of the site takes by the plan, and those approved since."""
    scope: dict[int, set[int]] = defaultdict(set)
    for pk in Outage.objects.filter(site=plan.site_id).values_list("pk", flat=True):
        scope[pk] = set()
    taken = plan.jobs.exclude(outage=None).values_list("outage", "position")
    approved = LateScope.objects.approved().filter(outage__site=plan.site_id)
    for outage, position in (*taken, *approved.values_list("outage", "position")):
        scope[outage].add(position)
    return {outage: frozenset(positions) for outage, positions in scope.items()}
