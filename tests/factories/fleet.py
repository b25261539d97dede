"""Rows of the register."""

from datetime import UTC, date, datetime

from factory import LazyAttribute, SelfAttribute, Sequence, SubFactory, post_generation
from factory.django import DjangoModelFactory, Password

from fleet import models as fleet

RECORDED_AT = datetime(2020, 1, 2, 12, tzinfo=UTC)
PASSWORD = "a long enough password"


class UserFactory(DjangoModelFactory):
    class Meta:
        model = fleet.User

    username = Sequence(lambda n: f"person{n}")
    name = Sequence(lambda n: f"Person {n}")
    password = Password(PASSWORD)


class SiteFactory(DjangoModelFactory):
    class Meta:
        model = fleet.Site

    name = Sequence(lambda n: f"Site {n}")


class MembershipFactory(DjangoModelFactory):
    class Meta:
        model = fleet.Membership

    user = SubFactory(UserFactory)
    site = SubFactory(SiteFactory)
    role = "planner"


class UnitFactory(DjangoModelFactory):
    class Meta:
        model = fleet.Unit

    site = SubFactory(SiteFactory)
    name = Sequence(lambda n: f"Unit {n}")


class EquipmentFactory(DjangoModelFactory):
    class Meta:
        model = fleet.Equipment

    site = SubFactory(SiteFactory)
    name = Sequence(lambda n: f"V-{n}")
    mawp = "165 psig"


class DeviceModelFactory(DjangoModelFactory):
    class Meta:
        model = fleet.DeviceModel

    maker = "Invented Works"
    name = Sequence(lambda n: f"IW-{n}")


class DeviceFactory(DjangoModelFactory):
    class Meta:
        model = fleet.Device

    number = Sequence(lambda n: f"D-{n:04}")
    serial = Sequence(lambda n: f"S{n:05}")
    site = SubFactory(SiteFactory)
    model = SubFactory(DeviceModelFactory)
    kind = "spring"


class PositionFactory(DjangoModelFactory):
    """`site` is the unit's; give `unit` (or `unit__site`) to choose another."""

    class Meta:
        model = fleet.Position

    unit = SubFactory(UnitFactory)
    site = SelfAttribute("unit.site")
    tag = Sequence(lambda n: f"PSV-{n:04}")
    status = "in_service"
    set_kpag = "1034.213593"  # 150 psig


class RecordedFactory(DjangoModelFactory):
    class Meta:
        abstract = True

    recorded_at = RECORDED_AT
    recorded_by = SubFactory(UserFactory)


class ToleranceBandFactory(RecordedFactory):
    class Meta:
        model = fleet.ToleranceBand

    code = Sequence(lambda n: f"own-{n}")
    definition = LazyAttribute(
        lambda _: {"basis": "gauge", "bands": [{"low": "-3 %", "high": "3 %"}]}
    )
    citation = "the owner's own"


class PositionDutyFactory(RecordedFactory):
    class Meta:
        model = fleet.PositionDuty

    position = SubFactory(PositionFactory)
    tag = SelfAttribute("position.tag")
    unit = SelfAttribute("position.unit")
    status = SelfAttribute("position.status")
    set_pressure = "150 psig"


class InstallationFactory(RecordedFactory):
    class Meta:
        model = fleet.Installation

    position = SubFactory(PositionFactory)
    device = SubFactory(DeviceFactory, site=SelfAttribute("..position.site"))
    installed_on = date(2020, 1, 1)


class IntervalRuleFactory(RecordedFactory):
    class Meta:
        model = fleet.IntervalRule

    code = Sequence(lambda n: f"own-rule-{n}")
    kind = "max_gap"
    parameters = LazyAttribute(lambda _: {"gap": "P5Y"})
    citation = "the owner's own"


class ObligationFactory(RecordedFactory):
    class Meta:
        model = fleet.Obligation

    position = SubFactory(PositionFactory)
    activity = "bench_test"
    rule = SubFactory(IntervalRuleFactory)


class IntervalDecisionFactory(RecordedFactory):
    class Meta:
        model = fleet.IntervalDecision

    obligation = SubFactory(ObligationFactory)
    from_on = date(2021, 1, 1)
    interval = "P3Y"
    reason = "two failures in a row"
    decided_by = SelfAttribute("recorded_by")


class DeferralFactory(RecordedFactory):
    class Meta:
        model = fleet.Deferral

    obligation = SubFactory(ObligationFactory)
    due_on = date(2025, 1, 1)
    until_on = date(2025, 3, 1)
    policy = "assessed"
    reason = "the unit stays on stream until its outage"
    approved_by = SelfAttribute("recorded_by")
    approved_on = date(2024, 12, 1)


class ServiceEventFactory(RecordedFactory):
    """Earned by a device; for an activity of the place give `device=None, position=...`."""

    class Meta:
        model = fleet.ServiceEvent

    device = SubFactory(DeviceFactory)
    site = LazyAttribute(lambda event: (event.device or event.position).site)
    activity = "bench_test"
    done_on = date(2020, 1, 1)
    ref = Sequence(lambda n: f"R-{n:05}")


class EventVoidFactory(RecordedFactory):
    class Meta:
        model = fleet.EventVoid

    event = SubFactory(ServiceEventFactory)
    reason = "entered twice"


class ObligationSpanFactory(DjangoModelFactory):
    class Meta:
        model = fleet.ObligationSpan

    obligation = SubFactory(ObligationFactory)
    from_on = date(2020, 1, 1)
    state = "no_device"
    recorded_at = RECORDED_AT


class DueLineFactory(DjangoModelFactory):
    class Meta:
        model = fleet.DueLine

    obligation = SubFactory(ObligationFactory)
    position = SelfAttribute("obligation.position")
    site = SelfAttribute("position.site")
    unit = SelfAttribute("position.unit")
    tag = SelfAttribute("position.tag")
    activity = SelfAttribute("obligation.activity")
    state = "no_device"
    order_on = date.min


class OutageFactory(DjangoModelFactory):
    class Meta:
        model = fleet.Outage
        skip_postgeneration_save = True

    site = SubFactory(SiteFactory)
    name = Sequence(lambda n: f"Outage {n}")
    starts_on = date(2027, 5, 1)
    ends_on = date(2027, 5, 21)

    @post_generation
    def units(self, create, extracted, **kwargs):
        if create and extracted:
            self.units.set(extracted)


class OutageUnitFactory(DjangoModelFactory):
    class Meta:
        model = fleet.OutageUnit

    outage = SubFactory(OutageFactory)
    unit = SubFactory(UnitFactory, site=SelfAttribute("..outage.site"))


class JobHoursFactory(DjangoModelFactory):
    class Meta:
        model = fleet.JobHours

    activity = Sequence(lambda n: f"activity{n}")
    hours = "4.00"


class UploadFactory(DjangoModelFactory):
    class Meta:
        model = fleet.Upload

    site = SubFactory(SiteFactory)
    file = "uploads/register.xlsx"
    name = "register.xlsx"
    size = 1
    sha256 = "0" * 64
    uploaded_at = RECORDED_AT
    uploaded_by = SubFactory(UserFactory)


class JobFactory(DjangoModelFactory):
    class Meta:
        model = fleet.Job

    kind = "import_workbook"
    upload = SubFactory(UploadFactory)
    asked_at = RECORDED_AT
    asked_by = SelfAttribute("upload.uploaded_by")


class AuditHeadFactory(DjangoModelFactory):
    class Meta:
        model = fleet.AuditHead


class AuditEntryFactory(DjangoModelFactory):
    class Meta:
        model = fleet.AuditEntry

    number = Sequence(lambda n: n + 1)
    previous = "0" * 64
    digest = "1" * 64
    at = RECORDED_AT
    by = SubFactory(UserFactory)
    action = "record"
    aggregate = "site:1"
    after = "{}"
