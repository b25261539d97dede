"""Which visits a work pack holds: the plan in force, or plainly the scope by date; what is done."""

from datetime import date

import pytest

from fleet.drawings.axis import day_words
from fleet.models import User
from fleet.reports.due import DueList
from inspections.papers import work_pack
from inspections.reports.work_pack import pack_of_job
from tests import factories
from tests.inspections.papers.conftest import TODAY, read
from tests.inspections.papers.packs import (
    PLANT,
    STARTS,
    accepted,
    another,
    has,
    outage_of,
    pack,
    pages,
    paper,
    placed,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def outage(shop):
    return outage_of(shop)


def test_where_no_plan_is_accepted_it_says_so_plainly(shop, outage):
    factories.PlanFactory(site=shop.site)  # proposed, and in force nowhere
    first, visit = pages(paper(shop, outage))
    has(first, "Work pack: Spring", "No plan of this site is accepted", "scope by date",
        "4 May 2026 to 20 May 2026", "Printed 1 Jun 2024", "Visits 1 Lines 1", "PSV-1",
        "not named", "Offered 100", "Visits without hours 1, and not in the sum")  # fmt: skip
    has(visit, "In the outage that begins on 4 May 2026")


def test_a_plan_in_force_is_named_with_its_day_and_its_person(shop, outage):
    plan = accepted(shop, (shop.owed, placed(outage, hours="9.00", reason="the last in time")))
    first, visit = pages(paper(shop, outage))
    has(first, f"From plan {plan.pk}, accepted 30 May 2024 by {shop.second}.", "4 May 2026",
        "Bench hours needed 9")  # fmt: skip
    assert "No plan" not in first
    has(visit, "On 4 May 2026", "the last in time", "due 1 Jun 2027")


def test_the_plan_in_force_decides_and_what_it_leaves_out_is_not_added(shop, outage):
    plan = accepted(shop)
    [only] = pages(paper(shop, outage))
    has(only, f"From plan {plan.pk}", "It places nothing here.", "None.")


def test_one_day_of_an_outage(shop, outage):
    other = another(shop, "PSV-2")
    later = date(2026, 5, 11)
    accepted(shop, (shop.owed, placed(outage)), (other, placed(outage, later)))
    first, visit = pages(paper(shop, outage, on=later))
    has(first, "Work pack: Spring, 11 May 2026", "Visits 1")
    has(visit, "1 PSV-2", "On 11 May 2026")
    assert [v.position.tag for v in pack(shop, outage, STARTS).visits] == ["PSV-1"]


def test_work_done_since_is_said_and_takes_no_page(shop, outage):
    other = another(shop, "PSV-2")
    lines = [(o, placed(outage, due_on=shop.due(o).due_on)) for o in (shop.owed, other)]
    plan = accepted(shop, *lines, from_on=date(2024, 1, 1))
    assert len(pages(paper(shop, outage))) == 3
    shop.finish(shop.open("overhaul"), settings=read("5 notches", "5 notches"))
    first, visit = pages(paper(shop, outage))
    has(first, f"From plan {plan.pk}", "1 PSV-1 D-1 overhaul done 20 May 2024 4 May 2026")
    has(visit, "2 PSV-2")


def test_a_visit_of_which_a_part_is_left_is_a_page_of_that_part(shop, outage):
    look = shop.owe(shop.place, "visual")
    lines = [(o, placed(outage, due_on=None)) for o in (shop.owed, look)]
    accepted(shop, *lines, from_on=date(2024, 1, 1))
    shop.finish(shop.open("overhaul"), settings=read("5 notches", "5 notches"))
    _, visit = pages(paper(shop, outage))
    has(visit, "Visual inspection of D-1", "done 20 May 2024, since the plan was made")
    assert "First pop" not in visit


def test_a_due_date_that_moved_since_is_said(shop, outage):
    accepted(shop, (shop.owed, placed(outage, due_on=date(2027, 6, 1))))
    now = shop.due().due_on
    assert now != date(2027, 6, 1)
    [_, visit] = pages(paper(shop, outage))
    has(visit, "due 1 Jun 2027", f"now due {day_words(now)}")


def test_a_line_of_a_plan_that_is_only_proposed_says_so(shop, outage):
    job = factories.PlannedJobFactory(plan__site=shop.site, obligation=shop.owed, **placed(outage))
    user = User.objects.get(pk=shop.mechanic.pk)
    first, _ = pages(work_pack.pdf(pack_of_job(job, DueList(TODAY, user)), PLANT))
    has(first, f"From plan {job.plan_id}, which is proposed and not accepted.")


def test_a_line_of_a_plan_that_was_replaced_says_so(shop, outage):
    before = accepted(shop, (shop.owed, placed(outage)))
    factories.PlanFactory(
        site=shop.site, follows=before, accepted_at=before.accepted_at, accepted_by=shop.second
    )
    due = DueList(TODAY, User.objects.get(pk=shop.mechanic.pk))
    sheet = pack_of_job(before.jobs.get(), due)
    words, is_in_force = work_pack.source_words(sheet)
    assert "It is not in force any more" in words and not is_in_force
    has(pages(work_pack.pdf(sheet, PLANT))[0], f"From plan {before.pk}", "not in force any more")


def test_a_cancelled_outage_says_so_first(shop, outage):
    accepted(shop, (shop.owed, placed(outage)))
    outage.status = "cancelled"
    outage.save()
    assert not work_pack.source_words(pack(shop, outage))[1]
    has(pages(paper(shop, outage))[0], "This outage is cancelled. From plan")


def test_scope_approved_late_and_in_no_plan_is_said(shop, outage):
    other = another(shop, "PSV-2")
    answer = {"answered_at": factories.RECORDED_AT, "answered_by": shop.second}
    factories.LateScopeFactory(
        outage=outage, position=other.position, answer="approved", reason="leaks", **answer
    )
    accepted(shop, (shop.owed, placed(outage)))
    first, _ = pages(paper(shop, outage))
    has(first, f"Late scope, and on no page of this pack: PSV-2, leaks (approved by {shop.second})")


@pytest.mark.parametrize("stands", [{"status": "cancelled"}, {"status": "done"}])
def test_an_outage_that_takes_no_work_has_an_empty_scope(shop, stands):
    [only] = pages(paper(shop, outage_of(shop, **stands)))
    has(only, "Visits 0", "None.")
