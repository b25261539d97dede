"""Rows of what happens beside the work, and of what waits for an answer."""

from datetime import date

from factory import SelfAttribute, Sequence, SubFactory
from factory.django import DjangoModelFactory

from fleet import models as fleet
from tests.factories.fleet import (
    ObligationFactory,
    PositionFactory,
    RecordedFactory,
    SiteFactory,
)


class ArrangementFactory(DjangoModelFactory):
    class Meta:
        model = fleet.Arrangement

    site = SubFactory(SiteFactory)
    name = Sequence(lambda n: f"Pair {n}")
    kind = "changeover"


class ArrangementMemberFactory(DjangoModelFactory):
    class Meta:
        model = fleet.ArrangementMember

    position = SubFactory(PositionFactory)
    arrangement = SubFactory(ArrangementFactory, site=SelfAttribute("..position.site"))
    role = "duty"


class TriggerFactory(RecordedFactory):
    class Meta:
        model = fleet.Trigger

    position = SubFactory(PositionFactory)
    kind = "release"
    happened_on = date(2024, 2, 26)


class CounterReadingFactory(RecordedFactory):
    class Meta:
        model = fleet.CounterReading

    position = SubFactory(PositionFactory)
    counter = "service_days"
    read_on = date(2024, 1, 1)
    value = 12


class OutOfServiceFactory(RecordedFactory):
    class Meta:
        model = fleet.OutOfService

    position = SubFactory(PositionFactory)
    from_on = date(2024, 1, 1)


class DeferralRequestFactory(RecordedFactory):
    class Meta:
        model = fleet.DeferralRequest

    obligation = SubFactory(ObligationFactory)
    due_on = date(2025, 1, 1)
    until_on = date(2025, 3, 1)
    policy = "simple"
    reason = "the unit stays on stream until its outage"
    requested_on = date(2024, 11, 1)


class ProposalFactory(RecordedFactory):
    class Meta:
        model = fleet.Proposal

    position = SubFactory(PositionFactory)
    kind = "as_received_failure"
    reason = "opened 5.10 % high as received"
    source = Sequence(lambda n: f"R-{n}")
    raised_on = date(2024, 3, 1)
