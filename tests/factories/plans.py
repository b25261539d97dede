"""Rows of plans: what a proposal, an acceptance and a hand leave behind."""

from datetime import date
from hashlib import sha256
from uuid import uuid4

from factory import LazyAttribute, LazyFunction, SelfAttribute, Sequence, SubFactory
from factory.django import DjangoModelFactory

from fleet import models as fleet
from fleet.stamps import FIRST
from tests.factories.fleet import (
    RECORDED_AT,
    MembershipFactory,
    ObligationFactory,
    OutageFactory,
    PositionFactory,
    RecordedFactory,
    SiteFactory,
)


class PlanFactory(RecordedFactory):
    class Meta:
        model = fleet.Plan

    site = SubFactory(SiteFactory)
    from_on = date(2026, 10, 31)
    to_on = date(2028, 10, 31)
    proposed_at = RECORDED_AT
    solver_status = "optimal"
    digest = LazyFunction(lambda: uuid4().hex * 2)  # what is counted of a plan is kept by it


class PlannedJobFactory(DjangoModelFactory):
    class Meta:
        model = fleet.PlannedJob

    plan = SubFactory(PlanFactory)
    obligation = SubFactory(ObligationFactory, position__unit__site=SelfAttribute("....plan.site"))
    position = SelfAttribute("obligation.position")
    unit = SelfAttribute("position.unit")
    activity = SelfAttribute("obligation.activity")
    due_on = date(2027, 6, 1)
    order_on = LazyAttribute(lambda row: row.due_on or FIRST)
    status = "no_opportunity"
    hours = 8


class HandPlacingFactory(RecordedFactory):
    class Meta:
        model = fleet.HandPlacing

    position = SubFactory(PositionFactory)
    outage = SubFactory(OutageFactory, site=SelfAttribute("..position.site"))
    kind = "pin"
    reason = "the crane is there that week"


class LateScopeFactory(RecordedFactory):
    class Meta:
        model = fleet.LateScope

    position = SubFactory(PositionFactory)
    outage = SubFactory(OutageFactory, site=SelfAttribute("..position.site"))
    reason = "found leaking after the scope was frozen"


class FeedFactory(DjangoModelFactory):
    class Meta:
        model = fleet.Feed
        exclude = ("membership", "number")

    membership = SubFactory(MembershipFactory)
    user = SelfAttribute("membership.user")
    site = SelfAttribute("membership.site")
    number = Sequence(int)
    digest = LazyAttribute(lambda row: sha256(str(row.number).encode()).hexdigest())
    made_at = RECORDED_AT
