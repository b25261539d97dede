"""The work pack: what a crew takes along, read back with pypdf page by page, its codes by ZXing."""

import re
from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.models import PlannedJob, User
from fleet.reports.due import DueList
from inspections.papers import work_pack
from inspections.reports.work_pack import pack_of_job
from tests import factories
from tests.inspections.papers.conftest import TODAY, read
from tests.inspections.papers.packs import (
    PLANT,
    accepted,
    another,
    has,
    outage_of,
    pack,
    pages,
    paper,
    placed,
)
from tests.inspections.papers.reading import codes_on, sheets_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def outage(shop):
    return outage_of(shop)


def test_two_makings_of_a_day_are_equal(shop, outage):
    assert paper(shop, outage) == paper(shop, outage)


def test_a_visit_s_page_says_what_to_put_back_and_what_was_seen(shop, outage):
    [_, visit] = pages(paper(shop, outage))
    has(visit, "1 PSV-1", "Overhaul of D-1", "Lower ring", "5 notches",
        "from ring touching the disc holder", "counts up", "as left 1 May 2022",
        "Last as found: 156 psig; +4.00 %; opened high; 1 May 2022", "Last as left: 150 psig",
        "145.5 psig to 154.5 psig", "seat scored", "cleaned", "Compression screw",
        "no target on record", "count from first thread engagement", "Protects not recorded",
        "First pop", "No lift, stopped at", "As left", "Seal and lock-wire number",
        "Verified by another person")  # fmt: skip


def test_the_cautions_of_the_trade_stand_where_the_risk_is(shop, outage):
    """API RP 576 6.2.2 to 6.2.8 and common practice (turning the screw, gagging)."""
    first, visit = pages(paper(shop, outage))
    has(first, "Permission and alternate protection before any block valve is closed",
        "inlet before outlet, vent the body at once", "blind open lines",
        "block valves opened and locked after refit", "hazardous until it is proved empty",
        "upright, lever wired", "Gag only what is not under test", "it permits nothing",
        "licensed practice")  # fmt: skip
    has(visit, "No block valve is recorded here", "Drop inlet pressure below about 90 % of set",
        "Your procedure, the maker's instructions and the local code rule.")  # fmt: skip


def test_a_block_valve_brings_its_own_caution(shop, outage):
    another(shop, "PSV-2", isolation="block_with_spare")
    visit = next(page for page in pages(paper(shop, outage)) if "PSV-2 Bench test" in page)
    has(visit, "A block valve with a spare is recorded here.", "permission and alternate",
        "block valves open and locked")  # fmt: skip


def test_an_instruction_outranks_the_last_as_left_and_both_are_said(shop, outage):
    factories.InstructionFactory(
        device=shop.device, datum="ring touching the disc holder", from_on=date(2024, 1, 1)
    )
    visit = " ".join(pages(paper(shop, outage))[1:])
    has(visit, "7 notches", "instruction: maker's manual, section 4", "last left 5 notches",
        "off by 2 notches")  # fmt: skip


def test_lines_of_one_position_are_one_visit(shop, outage):
    test = shop.owe(shop.place, "bench_test")
    look = shop.owe(shop.place, "visual")
    accepted(
        shop,
        (test, placed(outage, covered_by="overhaul", hours=0)),
        (look, placed(outage, hours=None)),
        (shop.owed, placed(outage, hours=9)),
    )
    first, *rest = pages(paper(shop, outage))
    visit = " ".join(rest)
    has(first, "Visits 1 Lines 3", "overhaul, bench test, visual inspection", "9 and more")
    has(visit, "Overhaul of D-1", "done by the overhaul", "Visual inspection: day, by")


def test_page_numbers_in_the_contents_are_true(shop, outage):
    for number in range(2, 60):
        another(shop, f"PSV-{number}")
    raw = pages(paper(shop, outage))
    front = next(n for n, page in enumerate(raw) if "1 PSV-1 Overhaul of" in page)
    assert front > 1  # the contents take several sheets
    text = " ".join(raw[:front])
    visits = 0
    for n, page in enumerate(raw, 1):
        assert f"{n} of {len(raw)}" in page
        if found := re.search(r"\b(\d+) (PSV-\d+) (?:Overhaul|Bench test) of (D-\w+)", page):
            number, tag, device = found.groups()
            visits += 1
            assert re.search(rf"\b{number} {tag} {device} [a-z ]+ not named not given {n}\b", text)
    assert visits == 59


def test_most_visits_take_one_sheet(shop, outage):
    another(shop, "PSV-2")
    raw = pages(paper(shop, outage))
    assert len(raw) == 3


def test_the_code_opens_the_device_or_its_open_job(shop, outage):
    other = another(shop, "PSV-2")
    codes = codes_on(paper(shop, outage))
    device = other.position.installations.get().device_id
    assert codes == [f"{PLANT}/devices/{shop.device.pk}/", f"{PLANT}/devices/{device}/"]
    job = shop.open("overhaul")
    assert codes_on(paper(shop, outage))[0] == f"{PLANT}/bench/{job.pk}/arrival/"


def test_where_nothing_is_fitted_it_says_so_and_leaves_room(shop, outage):
    place = shop.position("PSV-2")
    bare = shop.owe(place, "bench_test")
    accepted(shop, (bare, placed(outage)))
    first, visit = pages(paper(shop, outage))
    has(first, "nothing fitted")
    has(visit, "Nothing is fitted here now", "Device fitted, serial", "What was seen")
    assert codes_on(paper(shop, outage)) == [f"{PLANT}/positions/{place.pk}/"]


def test_open_questions_and_proposals_are_on_the_page_and_answered_ones_are_not(shop, outage):
    ask = {"inspection": None, "device": None, "site": shop.site, "position": shop.place}
    factories.QuestionFactory(**ask, text="which spring is in it?")
    answered = {"answered_at": factories.RECORDED_AT, "answered_by": shop.second, "answer": "no"}
    factories.QuestionFactory(**ask, code="other", text="an old one", **answered)
    factories.ProposalFactory(
        position=shop.place, reason="opened 4 % high", raised_on=date(2024, 5, 1)
    )
    [_, visit] = pages(paper(shop, outage))
    has(visit, "Open question: which spring is in it?", "1 May 2024: opened 4 % high")
    assert "an old one" not in visit


def test_work_on_stream_is_cautioned_and_never_allowed(shop):
    week = date(2026, 3, 2)
    plan = accepted(shop, (shop.owed, {"status": "online", "planned_on": week, "hours": 9}))
    job = PlannedJob.objects.get(plan=plan)
    user = User.objects.get(pk=shop.mechanic.pk)
    first, *rest = pages(work_pack.pdf(pack_of_job(job, DueList(TODAY, user)), PLANT))
    visit = " ".join(rest)
    has(first, "Work pack: PSV-1", "on stream")
    has(visit, "On stream, in the week of 2 Mar 2026", "stays under pressure",
        "must be approved before anything is closed or taken out", "approves nothing",
        "With this place alone out:", "the local code and a qualified person")  # fmt: skip


def test_a_disc_and_a_vent_have_their_own_words_and_boxes(shop, outage):
    disc = another(shop, "PSE-1", kind="rupture_disc")
    change = shop.owe(disc.position, "disc_change")
    accepted(shop, (change, placed(outage)))
    [_, visit] = pages(paper(shop, outage))
    has(visit, "never by feel", "The disc that goes in", "Burst pressure", "Torque of the studs")
    assert "lever wired" not in visit and "First pop" not in visit


def test_a_capacity_review_is_no_strip_down(shop, outage):
    review = shop.owe(shop.place, "capacity_review")
    accepted(shop, (review, placed(outage)))
    [_, visit] = pages(paper(shop, outage))
    has(visit, "Capacity review of D-1", "Required, with its source", "Rated, with its source")
    assert "First pop" not in visit


def test_hostile_names_are_printed_as_text(shop, outage):
    shop.place.tag = "<i>" + "T" * 70
    shop.place.save()
    outage.name = "<b>& é"
    outage.save()
    raw = sheets_of(paper(shop, outage))
    assert "T" * 70 in "".join(raw).replace("\n", "").replace(" ", "")
    assert "<b>& é" in raw[0]


def test_a_pack_costs_the_same_queries_for_three_visits_and_for_thirty(shop, outage):
    def made():
        with CaptureQueriesContext(connection) as seen:
            pack(shop, outage)
        return len(seen)

    for number in range(2, 4):
        another(shop, f"PSV-{number}")
    made()  # the settings of the first request of all
    few = made()
    for number in range(4, 31):
        another(shop, f"PSV-{number}")
    assert made() == few <= 32


def test_a_visit_s_sheet_costs_the_same_queries_after_one_overhaul_and_after_five(shop, outage):
    def read_sheet():
        [visit] = pack(shop, outage).visits
        with CaptureQueriesContext(connection) as seen:
            visit.sheet()
        return len(seen)

    # earlier overhaul twice, told, points; left; duty; pops as found and as left; found; seen
    few = read_sheet()
    for month in range(1, 5):
        job = shop.open("overhaul", day=date(2023, month, 1))
        shop.finish(job, settings=read("5 notches", "5 notches"))
    outage.starts_on = date(2027, 6, 1)
    outage.ends_on = date(2027, 6, 9)
    outage.save()
    assert read_sheet() == few <= 13
