"""Where a device stood is said as it was called on the day of the work, not as it is now."""

from datetime import date

import pytest

from inspections.models import Inspection
from inspections.papers import certificate
from inspections.reports.certificate import certificate_of
from tests import factories
from tests.inspections.papers.conftest import read
from tests.inspections.papers.reading import said
from tests.inspections.shop import AT

pytestmark = pytest.mark.django_db


def called(shop, tag: str, unit: str, from_on: date) -> None:
    """Known when the record is locked: only its day decides."""
    factories.PositionDutyFactory(
        position=shop.place,
        from_on=from_on,
        tag=tag,
        unit=factories.UnitFactory(site=shop.site, name=unit),
        set_pressure="150 psig",
        tolerance=shop.place.duties.order_by("pk").first().tolerance,
        recorded_at=AT,
    )


def paper_of(record) -> bytes:
    return certificate.pdf(certificate_of(Inspection.objects.get(pk=record.pk)))


def test_tag_and_unit_are_those_of_the_day_of_the_work(shop, job):
    called(shop, "PSV-OLD", "Alky north", date(2024, 5, 1))
    called(shop, "PSV-NEW", "Alky south", job.done_on.replace(day=job.done_on.day + 1))
    text = said(paper_of(shop.finish(job, settings=read("5 notches", "5 notches"))))
    assert "PSV-OLD" in text and "Alky north" in text
    assert "PSV-NEW" not in text and "Alky south" not in text


def test_a_new_tag_holds_from_its_own_day_on(shop, job):
    called(shop, "PSV-NEW", "Alky south", job.done_on)
    text = said(paper_of(shop.finish(job, settings=read("5 notches", "5 notches"))))
    assert "PSV-NEW" in text and "Alky south" in text


def test_equipment_is_named_as_it_is_named_now_and_that_is_said(shop, job):
    shop.place.equipment = factories.EquipmentFactory(site=shop.site, name="V-77")
    shop.place.save()
    text = said(paper_of(shop.finish(job, settings=read("5 notches", "5 notches"))))
    assert "Equipment protected, as named now" in text and "V-77" in text
