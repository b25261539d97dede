"""Rows of the shop's records."""

from datetime import date

from factory import SelfAttribute, Sequence, SubFactory
from factory.django import DjangoModelFactory

from inspections import models as inspections
from tests.factories.fleet import DeviceFactory, DeviceModelFactory, RecordedFactory


class SettingPointFactory(DjangoModelFactory):
    class Meta:
        model = inspections.SettingPoint

    model = SubFactory(DeviceModelFactory)
    setting = "lower_ring"
    measure = "notches"
    datum = "ring touching the disc holder"
    positive = "down"


class InspectionFactory(RecordedFactory):
    """Open; lock it with `verified_by=..., locked_at=...` after its children are written."""

    class Meta:
        model = inspections.Inspection

    ref = Sequence(lambda n: f"I-{n:05}")
    device = SubFactory(DeviceFactory)
    site = SelfAttribute("device.site")
    activity = "overhaul"
    done_on = date(2020, 1, 1)
    done_by = SelfAttribute("recorded_by")


class PopTestFactory(DjangoModelFactory):
    class Meta:
        model = inspections.PopTest

    inspection = SubFactory(InspectionFactory)
    stage = "as_found"
    order = Sequence(lambda n: n % 30000 + 1)
    pressure = "151 psig"
    result = "opened"


class SettingReadingFactory(DjangoModelFactory):
    class Meta:
        model = inspections.SettingReading

    inspection = SubFactory(InspectionFactory)
    setting = "lower_ring"
    stage = "as_found"
    value = "-7 notches"
    datum = "ring touching the disc holder"


class FindingFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Finding

    inspection = SubFactory(InspectionFactory)
    part = "disc"
    order = Sequence(lambda n: n % 30000 + 1)
    condition = "seat scored"


class QuestionFactory(RecordedFactory):
    class Meta:
        model = inspections.Question

    inspection = SubFactory(InspectionFactory)
    site = SelfAttribute("inspection.site")
    code = "assumed_gauge"
    text = "psi was taken as psig"
