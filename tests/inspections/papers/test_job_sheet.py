"""The job sheet: what is known before the work, and a box for all that will be read."""

from datetime import date

import pytest
from django.urls import reverse

from inspections.models import Inspection
from inspections.papers import job_sheet
from inspections.reports.job_sheet import job_sheet_of
from tests import factories
from tests.inspections.papers.conftest import TODAY
from tests.inspections.papers.reading import said, sheets_of
from tests.inspections.views.bench.pages import client_of

pytestmark = pytest.mark.django_db


def address(job) -> str:
    return reverse("bench_sheet", args=[job.pk])


def paper_of(job) -> bytes:
    return job_sheet.pdf(job_sheet_of(Inspection.objects.get(pk=job.pk)), TODAY)


def test_two_makings_of_a_day_are_equal(job, mechanic):
    assert mechanic.get(address(job)).content == mechanic.get(address(job)).content == paper_of(job)


def test_targets_the_last_as_found_and_worn_parts_are_on_it(shop, job):
    text = said(paper_of(job))
    last = Inspection.objects.exclude(pk=job.pk).get()
    for piece in (
        f"Job sheet {job.ref}", "Overhaul of D-1, from PSV-1", "Printed 1 Jun 2024",
        "Lower ring", "5 notches", "from ring touching the disc holder", "counts up", "4 notches",
        f"as left 1 May 2022, record {last.ref}",
        "156 psig; +4.00 %; opened high; 1 May 2022", "145.5 psig to 154.5 psig",
        "Compression screw", "no target on record", "count from first thread engagement",
        "seat scored", "cleaned", "seat width 1/16 in", "Write the settings down as found before",
        "Your procedure, the maker's instructions", "The first pop, before any cleaning",
    ):  # fmt: skip
        assert piece in text, piece


def test_there_is_a_box_for_everything_the_walk_asks(job):
    text = said(paper_of(job))
    for piece in (
        "Tag that hangs on it", "Seal as found", "Condition", "First pop", "What it did", "Reseat",
        "Leak", "No lift, stopped at", "waived, because", "Gauge", "Its range", "Its accuracy",
        "Calibration good until", "As found now", "As left now", "Two initials", "Seen now",
        "Measured", "Contact check 1", "Seal and lock-wire number", "Certificate number",
        "Disposition", "Done by", "Verified by another person",
    ):  # fmt: skip
        assert piece in text, piece


def test_an_instruction_outranks_the_last_as_left_and_both_are_said(shop, job):
    factories.InstructionFactory(
        device=shop.device, datum="ring touching the disc holder", from_on=date(2024, 1, 1)
    )
    text = said(paper_of(job))
    assert "7 notches" in text and "instruction: maker's manual, section 4" in text
    assert "last left 5 notches" in text and "off by 2 notches" in text


def test_a_device_without_history_gets_blanks_and_no_guess(shop):
    device = factories.DeviceFactory(site=shop.site, model=None, number="D-9")
    text = said(paper_of(shop.open("overhaul", device=device)))
    assert "not fitted anywhere yet" in text and "Last as found none on record" in text
    assert "CDTP does not follow" in text and "no tolerance given" in text
    assert "No setting is listed for this model" in text


def test_only_who_records_at_the_site_gets_it_and_only_of_an_open_job(shop, job, mechanic):
    assert mechanic.get(address(job))["Content-Type"] == "application/pdf"
    for role, status in (("planner", 403), ("engineer", 403), ("auditor", 403)):
        client = client_of(factories.MembershipFactory(site=shop.site, role=role).user)
        assert client.get(address(job)).status_code == status
    foreign = client_of(factories.MembershipFactory(role="mechanic").user)
    assert foreign.get(address(job)).status_code == 404


def test_a_locked_record_has_none(locked, mechanic):
    assert mechanic.get(address(locked)).status_code == 404


def test_the_walk_and_the_record_lead_to_it(job, mechanic):
    for page in (f"/bench/{job.pk}/arrival/", f"/inspections/{job.pk}/"):
        assert f'href="{address(job)}"' in mechanic.get(page).content.decode()


def test_hostile_names_are_printed_as_text_on_counted_sheets(shop, job):
    shop.place.tag = "<i>" + "T" * 70
    shop.place.save()
    pages = sheets_of(paper_of(job))
    assert "T" * 70 in "".join(pages).replace("\n", "").replace(" ", "")
    assert all(f"{n} of {len(pages)}" in page for n, page in enumerate(pages, 1))


def test_a_vent_with_a_vacuum_set_has_boxes_for_both_sides(shop, job):
    text = said(paper_of(job))
    assert "Vacuum" not in text
    shop.device.kind = "vent"
    shop.device.save()
    ten = {"basis": "gauge", "bands": [{"low": "-10 %", "high": "10 %"}]}
    band = factories.ToleranceBandFactory(definition=ten)
    asked = {"set_pressure": "10 kPag", "vacuum_set": "-0.5 kPag", "tolerance": band}
    factories.PositionDutyFactory(position=shop.place, from_on=date(2023, 1, 1), **asked)
    text = said(paper_of(job))
    for piece in (
        "Vacuum set -0.5 kPag", "-0.45 kPag to -0.55 kPag", "Vacuum, first", "Vacuum, as left",
    ):  # fmt: skip
        assert piece in text, piece


def test_a_disc_has_boxes_for_its_tag_and_none_for_pops(shop):
    shop.device.kind = "rupture_disc"
    shop.device.save()
    text = said(paper_of(shop.open("disc_change")))
    assert "never by feel" in text and "lever wired" not in text
    for piece in ("The disc that goes in", "Lot", "Burst pressure", "Torque", "4 Seal and sign"):
        assert piece in text, piece
    assert "First pop" not in text and "Contact check" not in text and "As left" not in text
