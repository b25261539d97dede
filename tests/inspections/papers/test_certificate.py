"""The certificate says what the record says, the same bytes each time, and never too much.

29 CFR 1910.119(j)(4)(iv): date, name of the person, serial number or other identifier, description
of the test, result. 49 CFR 180.417(b): type of device, set pressure, pressures at which it opened
and reseated, disposition.
"""

from datetime import date

import pytest
from django.urls import reverse

from fleet.actions.as_left import leave_within
from fleet.models import AuditEntry, PositionDuty
from inspections.actions.start import correct
from inspections.calc.looks import LOOKS, NAMEPLATE, SET
from inspections.models import ContactCheck, Inspection
from inspections.papers import certificate
from inspections.reports.certificate import certificate_of
from tests import factories
from tests.inspections.papers.conftest import TODAY, read
from tests.inspections.papers.reading import codes_on, said, sheets_of
from tests.inspections.shop import AT
from tests.inspections.views.bench.pages import client_of

pytestmark = pytest.mark.django_db


def paper_of(record) -> bytes:
    return certificate.pdf(certificate_of(Inspection.objects.get(pk=record.pk)))


def address(record) -> str:
    return reverse("inspection_certificate", args=[record.pk])


def test_the_same_record_gives_the_same_bytes_on_any_day(locked, mechanic, settings):
    first = mechanic.get(address(locked)).content
    settings.FIXED_TODAY = date(2031, 2, 3)
    assert mechanic.get(address(locked)).content == first == paper_of(locked)


def test_it_says_everything_an_auditor_asks_for(shop, locked):
    text = said(paper_of(locked))
    for piece in (
        f"Test certificate {locked.ref}", "Overhaul of 20 May 2024", "D-1", "PSV-1", "spring",
        shop.device.serial or "not recorded", str(shop.model),
        "Set pressure", "150 psig", "no subtraction, no temperature multiplier given",
        "asme8", "UG-134(d)", "on the bench, air",
        str(shop.mechanic), str(shop.second),
        "Verified and locked on", "1 Jun 2024", "repaired",
        "TG-7", "0 to 300 psig", "0.25 %", "1 Dec 2024", "S-100", "S-201", "clean",
        "This tool certifies nothing", "spindle", "straightened", "run-out 0.002 in", "1 of 1",
    ):  # fmt: skip
        assert piece in text, piece


def test_the_first_pop_and_every_verdict_stand_in_the_band_of_that_day(shop, locked):
    """VIII, 150 psig: 3 % = 145.5 to 154.5 (UG-134(d) via API RP 576 6.2.9.8); 156 is +4 %."""
    rule = shop.duty(shop.place)
    factories.PositionDutyFactory(  # a later word about that day judges nothing in this record
        position=shop.place, from_on=date(2024, 1, 1), set_pressure="170 psig",
        tolerance=rule.tolerance, recorded_at=AT.replace(year=2025),
    )  # fmt: skip
    text = said(paper_of(locked))
    assert "As found, first 156 psig ▲ high +4.00 % 145.5 psig to 154.5 psig" in text
    assert "As left 150.0 psig ○ in tolerance 0.00 %" in text
    assert "170 psig" not in text


def test_the_sites_own_tolerance_stands_beside_the_limit(shop, job):
    """+/-1 % as left is common practice: 148.5 to 151.5 psig of 150."""
    narrow = {"basis": "gauge", "bands": [{"low": "-1 %", "high": "1 %"}]}
    band = factories.ToleranceBandFactory(code="site-1pc", definition=narrow)
    leave_within(shop.site, band.code, by=shop.second, at=AT)
    left = {"left": "153 psig", "left_reason": "spring at its end"}
    text = said(paper_of(shop.finish(job, settings=read("5 notches", "5 notches"), **left)))
    assert "As left 153 psig ○ in tolerance above the site's own site-1pc +2.00 %" in text
    assert "Left outside the site's own tolerance: spring at its end" in text


def test_settings_say_datum_difference_and_who_left_them_off(shop, locked):
    text = said(paper_of(locked))
    assert "5 notches" in text and "6 notches" in text and "+1 notch" in text
    assert "off by 1 notch (lower ring), above target" in text
    assert "reason: simmer" in text and str(shop.mechanic) in text
    assert "from ring touching the disc holder" in text
    assert "15 1/4 turns" in text and "15 3/8 turns" in text and "+1/8 turn" in text


def test_settings_of_two_datums_are_never_subtracted(shop, job):
    other = {"value": "9 notches", "datum": "a flat on the seat", "changed_reason": "machined"}
    text = said(paper_of(shop.finish(job, settings=read("5 notches", other))))
    assert "not comparable: datum was ring touching the disc holder, now a flat on the seat" in text
    assert "+4 notches" not in text


def test_a_bound_is_never_a_pressure(shop, job):
    stuck = {"pressure": "165 psig", "bound": "above", "result": "no_lift"}
    pops = {("as_found", 1): stuck, ("as_left", 1): "150 psig"}
    shop.save(job, pops=pops, settings=read("5 notches", "5 notches"))
    shop.sign(job)
    shop.verify(job)
    text = said(paper_of(job))
    assert "no lift at 165 psig" in text and "above +10.00 %" in text


def _by_maker(shop, job):
    """A new device has no as-found: it comes with its maker's certificate."""
    maker = factories.UserFactory(is_active=False)
    whole = [(look.part, {"condition": look.good}) for look in LOOKS]
    plate = (NAMEPLATE, {"condition": "measured", "measure": SET, "value": "150 psig"})
    return shop.finish(
        job,
        found=None,
        method="maker",
        certificate="M-1",
        done_by=maker,
        received_on=job.done_on,
        findings=[{"part": part, **seen} for part, seen in [plate, *whole]],
    )


def test_a_device_fresh_from_the_maker_says_what_it_was_made_ready_for(shop):
    new = factories.DeviceFactory(site=shop.site, model=None, number="D-2")
    spare = shop.position("PSV-2")
    shop.fit(new, spare, date(2024, 5, 30))
    job = shop.open("bench_test", device=new)
    text = said(paper_of(_by_maker(shop, job)))
    assert "none: not fitted yet" in text and "Made ready for PSV-2" in text
    assert "No as-found pop is recorded." in text and "145.5 psig to 154.5 psig" in text


def test_a_waived_test_and_what_is_missing_are_said(shop, job):
    record = shop.finish(job, found=None, waived_reason="packed with polymer",
                         settings=read("5 notches", "5 notches"))  # fmt: skip
    text = said(paper_of(record))
    assert "As-received test waived: packed with polymer" in text
    assert "Gauge not recorded" in text and "Seal as found not recorded" in text


def test_contact_checks_and_their_loop_are_told(shop, job):
    ContactCheck.objects.create(inspection=job, order=1, is_unbroken=False, note="lapped again")
    ContactCheck.objects.create(inspection=job, order=2, is_unbroken=True)
    text = said(paper_of(shop.finish(job, settings=read("5 notches", "5 notches"))))
    assert "Contact check 1: broken ring: lapped again." in text
    assert "Contact check 2: unbroken ring." in text


def test_the_cold_test_pressure_comes_with_its_derivation(shop, job):
    """Worked: set 150, constant back pressure 20, x 1.02 -> 132.6 (common practice)."""
    PositionDuty.objects.bulk_create([PositionDuty(
        position=shop.place, from_on=date(2024, 1, 1), tag="PSV-1", unit=shop.place.unit,
        status="in_service", set_pressure="150 psig", back_pressure="20 psig",
        back_pressure_kind="constant", temperature_multiplier="1.02",
        tolerance=shop.band, recorded_by=shop.by, recorded_at=AT,
    )])  # fmt: skip
    record = shop.finish(job, found="133 psig", left="132.6 psig",
                         settings=read("5 notches", "5 notches"))  # fmt: skip
    text = said(paper_of(record))
    assert "132.6 psig" in text
    assert "set 150 psig, less constant back pressure 20 psig, times 1.02" in text


def test_corrections_are_told_both_ways(shop, locked, mechanic):
    new = correct(locked, by=shop.mechanic, at=AT)
    before = paper_of(locked)
    assert "No longer stands" not in said(before)
    shop.sign(new)
    shop.verify(new)
    assert f"No longer stands: corrected by record {new.ref} of 1 Jun 2024" in said(
        paper_of(locked)
    )
    assert f"Corrects record {locked.ref}, which is kept as it was." in said(paper_of(new))


def test_it_carries_the_entry_that_locked_the_record(locked):
    entry = AuditEntry.objects.get(aggregate=f"inspection:{locked.pk}", action="inspection locked")
    text = said(paper_of(locked))
    assert f"Audit chain, entry {entry.number} begins" in text
    assert entry.digest[:16] in text.replace(" ", "")


def test_an_accepted_record_says_who_accepted_it(shop):
    record = factories.InspectionFactory(device=shop.device, position=shop.place, done_by=None)
    factories.PopTestFactory(inspection=record, order=1)
    record.accepted_by, record.locked_at = shop.second, AT
    record.save()
    text = said(paper_of(record))
    assert "Accepted on load by" in text and str(shop.second) in text
    assert "not judged" in text and "no tolerance" in text


def test_an_open_record_has_none_and_its_page_says_why(job, mechanic):
    answer = mechanic.get(address(job))
    assert answer.status_code == 404
    assert "a second person has not verified this record" in answer.content.decode()
    assert "No certificate yet" in mechanic.get(f"/inspections/{job.pk}/").content.decode()
    with pytest.raises(ValueError, match="not locked"):
        certificate_of(Inspection.objects.get(pk=job.pk))


def test_its_page_and_the_device_page_lead_to_it(locked, mechanic):
    for page in (f"/inspections/{locked.pk}/", f"/devices/{locked.device_id}/"):
        assert f'href="{address(locked)}"' in mechanic.get(page).content.decode()


@pytest.mark.parametrize("role", ["planner", "mechanic", "engineer", "auditor", "administrator"])
def test_every_role_of_the_site_reads_it_and_no_other_site_does(shop, locked, role):
    own = client_of(factories.MembershipFactory(site=shop.site, role=role).user)
    foreign = client_of(factories.MembershipFactory(role=role).user)
    answer = own.get(address(locked))
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == f'inline; filename="certificate-{locked.ref}.pdf"'
    assert foreign.get(address(locked)).status_code == 404


def test_hostile_text_is_printed_as_text_and_nothing_of_it_is_lost(shop, job):
    long = " ".join(f"w{n}" for n in range(3000))
    evil = "<b>bold</b> <script>alert(1)</script> & ½ ⅞ 中 \x07 " + "x" * 300
    record = shop.finish(
        job,
        settings=read("5 notches", "5 notches"),
        remarks=long,
        seal_left="S" * 120,
        witnessed_by="<para>" + "y" * 100,
        findings=[{"part": "disc", "condition": evil[:200], "order": 1}],
    )
    paper = paper_of(record)
    text = said(paper)
    assert "<b>bold</b>" in text and "½ ⅞" in text and "⟨U+4E2D⟩" in text
    assert all(f"w{n} " in text + " " for n in range(3000))
    assert "S" * 120 in text.replace(" ", "") and "y" * 100 in text.replace(" ", "")
    pages = sheets_of(paper)
    assert len(pages) > 1
    assert all(f"{n} of {len(pages)}" in page for n, page in enumerate(pages, 1))
    assert codes_on(paper) == []


def test_the_queries_do_not_grow_with_the_record(locked, django_assert_max_num_queries):
    record = Inspection.objects.select_related(
        "device__model", "position__equipment", "site", "done_by", "verified_by"
    ).get(pk=locked.pk)
    with django_assert_max_num_queries(20):
        certificate.pdf(certificate_of(record))


def test_the_day_it_is_printed_stands_nowhere_on_it(locked, settings):
    settings.FIXED_TODAY = date(2029, 9, 9)
    assert "2029" not in said(paper_of(locked))
    assert TODAY.year == 2024
