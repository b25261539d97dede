"""Rows of what the bench keeps."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

from factory import LazyFunction, SelfAttribute, Sequence, SubFactory
from factory.django import DjangoModelFactory

from inspections import models as inspections
from tests.factories.fleet import (
    RECORDED_AT,
    DeviceFactory,
    DeviceModelFactory,
    RecordedFactory,
    UserFactory,
)
from tests.factories.inspections import InspectionFactory


class FieldEditFactory(DjangoModelFactory):
    class Meta:
        model = inspections.FieldEdit

    uuid = LazyFunction(uuid4)
    inspection = SubFactory(InspectionFactory)
    step = "arrival"
    field = "seal_found"
    typed = "4471"
    base_version = 1
    typed_by = SubFactory(UserFactory)
    received_at = RECORDED_AT


class PhotoFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Photo

    inspection = SubFactory(InspectionFactory)
    sha256 = Sequence(lambda n: f"{n:064x}")
    kind = "image/jpeg"
    width = 1600
    height = 1200
    size = 200_000
    taken_by = SubFactory(UserFactory)
    received_at = RECORDED_AT


class DocumentFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Document

    inspection = SubFactory(InspectionFactory)
    sha256 = Sequence(lambda n: f"{n:064x}")
    kind = "application/pdf"
    size = 40_000
    name = "certificate.pdf"
    added_by = SubFactory(UserFactory)
    received_at = RECORDED_AT


class ContactCheckFactory(DjangoModelFactory):
    class Meta:
        model = inspections.ContactCheck

    inspection = SubFactory(InspectionFactory)
    is_unbroken = True


class InstructionFactory(RecordedFactory):
    class Meta:
        model = inspections.Instruction

    device = SubFactory(DeviceFactory)
    setting = "lower_ring"
    value = "7 notches"
    datum = "ring touching a flat laid on the seat"
    from_on = date(2024, 1, 1)
    source = "maker's manual, section 4"
    reason = "blowdown too short"
    signed_by = SelfAttribute("recorded_by")


class PartLimitFactory(DjangoModelFactory):
    class Meta:
        model = inspections.PartLimit

    model = SubFactory(DeviceModelFactory)
    part = "spring"
    measure = "free height"
    low = "118 mm"
    source = "maker's drawing"


class ScreeningFactory(DjangoModelFactory):
    class Meta:
        model = inspections.Screening
        django_get_or_create = ("day",)

    day = None
    entry = 1
    digest = "1" * 64
    made_at = RECORDED_AT
    budget = Decimal("0.100")


class SettingStateFactory(DjangoModelFactory):
    class Meta:
        model = inspections.SettingState

    screening = SubFactory(ScreeningFactory)
    device = SubFactory(DeviceFactory)
    setting = "lower_ring"
    home = site = SelfAttribute("device.site")
    visits = 3


class FlagStateFactory(DjangoModelFactory):
    class Meta:
        model = inspections.FlagState

    state = SubFactory(SettingStateFactory)
    code = "moved_in_service"
    reasons = ["2 notches down in service"]
    fingerprint = Sequence(lambda n: f"{n:064x}")


class AcknowledgementFactory(RecordedFactory):
    class Meta:
        model = inspections.Acknowledgement

    device = SubFactory(DeviceFactory)
    setting = "lower_ring"
    code = "moved_in_service"
    fingerprint = Sequence(lambda n: f"{n:064x}")
    note = "Looked at; the ring pin is worn and on order."
