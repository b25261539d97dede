"""Work packs as pages: small ones at once, large ones in the background, each behind its site."""

import pytest
from django.core.management import call_command

from fleet import jobs
from fleet.models import Job
from inspections.papers import pack_job
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, streamed, text, words
from tests.inspections.papers.reading import said

pytestmark = pytest.mark.django_db
DAY = plant.date(2027, 6, 1)


@pytest.fixture(autouse=True)
def at_once(settings, tmp_path, monkeypatch):
    settings.FIXED_TODAY = TODAY
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setattr(jobs, "start", lambda job: call_command("run_job", str(job.pk)))
    monkeypatch.setattr("inspections.management.commands.run_job._limit_memory", lambda: None)


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


@pytest.fixture
def outage(unit):
    row = factories.OutageFactory(site=unit.site, units=[unit], name="Spring")
    plant.due(unit, "PSV-1", DAY)
    plant.due(unit, "PSV-2", DAY)
    return row


@pytest.fixture
def large(monkeypatch):
    """Two visits are many."""
    monkeypatch.setattr("inspections.views.work_packs.MOST_AT_ONCE", 1)


def pdf(outage):
    return f"/outages/{outage.pk}/work-pack.pdf"


def page(outage):
    return f"/outages/{outage.pk}/work-pack/"


def test_a_small_pack_is_drawn_at_once(unit, outage):
    mechanic = signed_in("mechanic", unit.site)
    response = mechanic.get(pdf(outage))
    assert response["Content-Type"] == "application/pdf"
    assert "work-pack-Spring.pdf" in response["Content-Disposition"]
    assert "PSV-1" in said(response.content) and "PSV-2" in said(response.content)
    assert response.content == mechanic.get(pdf(outage)).content
    assert f'href="{pdf(outage)}"' in text(mechanic.get(page(outage)))
    assert not Job.objects.exists()


def test_the_outage_leads_to_it(unit, outage):
    assert f'href="{page(outage)}"' in text(
        signed_in("auditor", unit.site).get(f"/outages/{outage.pk}/")
    )


def test_a_large_pack_is_made_in_the_background_and_kept(unit, outage, large):
    planner = signed_in("planner", unit.site)
    assert planner.get(pdf(outage)).url == page(outage)
    assert "Make the work pack" in words(planner.get(page(outage)))
    assert planner.post(f"{page(outage)}make/").url == page(outage)
    job = Job.objects.get()
    assert job.state == "done" and job.result["visits"] == 2
    made = f"/work-packs/{job.pk}.pdf"
    assert f'href="{made}"' in text(planner.get(page(outage)))
    answer = planner.get(made)
    assert answer["Content-Type"] == "application/pdf" and "private" in answer["Cache-Control"]
    assert "PSV-2" in said(streamed(answer))


def test_the_file_is_the_paper_that_would_be_drawn_at_once(unit, outage, monkeypatch):
    planner = signed_in("planner", unit.site)
    direct = planner.get(pdf(outage)).content
    monkeypatch.setattr("inspections.views.work_packs.MOST_AT_ONCE", 1)
    planner.post(f"{page(outage)}make/")
    assert streamed(planner.get(f"/work-packs/{Job.objects.get().pk}.pdf")) == direct


def test_the_last_one_made_takes_the_place_of_the_one_before(unit, outage, large):
    planner = signed_in("planner", unit.site)
    for _ in range(2):
        planner.post(f"{page(outage)}make/")
    first, second = Job.objects.order_by("pk")
    assert planner.get(f"/work-packs/{first.pk}.pdf").status_code == 404
    assert planner.get(f"/work-packs/{second.pk}.pdf").status_code == 200


def test_one_is_made_at_a_time_and_can_be_stopped(unit, outage, large, monkeypatch):
    monkeypatch.setattr(jobs, "start", lambda job: None)
    planner = signed_in("planner", unit.site)
    for _ in range(2):
        planner.post(f"{page(outage)}make/")
    job = Job.objects.get()
    assert "Waiting to start" in words(planner.get(page(outage)))
    part = text(planner.get(page(outage), headers={"HX-Request": "true"}))
    assert part.startswith('<div id="state"') and "<html" not in part
    assert planner.get(f"/work-packs/{job.pk}.pdf").status_code == 404
    planner.post(f"/work-packs/{job.pk}/cancel/")
    assert "Stopped as you asked" in words(planner.get(page(outage)))
    planner.post(f"{page(outage)}make/")
    assert Job.objects.count() == 2


def test_a_running_one_says_how_far_it_is_and_stops_between_two_visits(
    unit, outage, large, monkeypatch
):
    monkeypatch.setattr(jobs, "start", lambda job: None)
    planner = signed_in("planner", unit.site)
    planner.post(f"{page(outage)}make/")
    claim = jobs.claim(Job.objects.get().pk, at=factories.RECORDED_AT)
    claim.beat("drawing the visits", 1, 2)
    assert "Drawing the visits: 1 of 2" in words(planner.get(page(outage)))
    planner.post(f"/work-packs/{claim.job.pk}/cancel/")
    with pytest.raises(jobs.Stopped):
        pack_job.make_pack(claim.job, claim.beat, at=factories.RECORDED_AT)


def test_an_auditor_reads_what_was_made_and_makes_none(unit, outage, large):
    auditor, planner = signed_in("auditor", unit.site), signed_in("planner", unit.site)
    assert auditor.post(f"{page(outage)}make/").status_code == 403
    assert "has not been made yet" in words(auditor.get(page(outage)))
    planner.post(f"{page(outage)}make/")
    assert auditor.get(f"/work-packs/{Job.objects.get().pk}.pdf").status_code == 200


def test_outside_its_site_there_is_no_pack(unit, outage, large):
    signed_in("planner", unit.site).post(f"{page(outage)}make/")
    stranger = signed_in("planner", factories.SiteFactory())
    job = Job.objects.get()
    for address in (pdf(outage), page(outage), f"/work-packs/{job.pk}.pdf"):
        assert stranger.get(address).status_code == 404
    assert stranger.post(f"{page(outage)}make/").status_code == 404
    assert stranger.post(f"/work-packs/{job.pk}/cancel/").status_code == 404


def test_another_job_s_number_opens_nothing(unit, outage):
    job = factories.JobFactory(upload__site=unit.site, result={"stored_at": "uploads/x"})
    assert signed_in("planner", unit.site).get(f"/work-packs/{job.pk}.pdf").status_code == 404


@pytest.mark.parametrize("on", ["x", "2027-13-01", "5"])
def test_a_day_that_is_none_leads_nowhere(unit, outage, on):
    planner = signed_in("planner", unit.site)
    assert planner.get(f"{pdf(outage)}?on={on}").status_code == 404


def test_a_line_without_a_day_has_no_page(unit):
    owed = plant.due(unit, "PSV-1", DAY)
    plan = factories.PlanFactory(site=unit.site)
    none = factories.PlannedJobFactory(plan=plan, obligation=owed)
    planner = signed_in("planner", unit.site)
    assert planner.get(f"/planned/{none.pk}/work-pack.pdf").status_code == 404


def test_days_of_a_plan_are_listed(unit, outage):
    owed = outage.units.get().positions.get(tag="PSV-1").obligations.get()
    plan = factories.PlanFactory(site=unit.site)
    place = {"status": "placed", "outage": outage, "planned_on": plant.date(2027, 5, 3)}
    factories.PlannedJobFactory(plan=plan, obligation=owed, **place)
    plan.accepted_at, plan.accepted_by = factories.RECORDED_AT, factories.UserFactory()
    plan.save()
    planner = signed_in("planner", unit.site)
    assert f"accepted 2 Jan 2020 by {plan.accepted_by}" in words(planner.get(page(outage)))
    there = planner.get(f"{page(outage)}?on=2027-05-03")
    assert "1visit" in words(there) and "?on=2027-05-03" in text(there)
