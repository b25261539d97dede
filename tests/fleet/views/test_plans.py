"""Plans as their readers use them: asked for, watched, read, compared, settled by hand."""

import os
from datetime import date

import pytest

from fleet import jobs, planning
from fleet.models import HandPlacing, Job, LateScope, Outage, Plan
from tests import factories
from tests.factories import RECORDED_AT as AT
from tests.fleet.reports import plant
from tests.fleet.reports.planned import FROM, TO, outage, site_with
from tests.fleet.views.signed_in import signed_in, streamed, text, words

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def started(settings, tmp_path, monkeypatch):
    """The jobs that would have been started."""
    settings.FIXED_TODAY, settings.MEDIA_ROOT = plant.TODAY, tmp_path
    asked = []
    monkeypatch.setattr("fleet.jobs.start", asked.append)
    return asked


@pytest.fixture
def unit():
    return site_with(hours="8")


@pytest.fixture
def planner(unit):
    return signed_in("planner", unit.site)


@pytest.fixture
def engineer(unit):
    return signed_in("engineer", unit.site)


def worked_out(unit, by, *, accept=False) -> Plan:
    plan = planning.ask(unit.site, FROM, TO, by=by, at=AT)
    planning.plan_job(plan.job, lambda *beat: None, at=AT)
    if accept:
        planning.accept(plan, by=by, at=AT)
    plan.refresh_from_db()
    return plan


def test_a_plan_is_asked_for_watched_and_shown(planner, unit, started):
    outage(unit, "Spring", date(2027, 5, 1), bench_hours="20")
    plant.due(unit, "A", date(2027, 6, 1))
    asked = {"site": unit.site_id, "from_on": FROM, "to_on": TO}
    sent = planner.post("/plans/propose/", asked)
    plan = Plan.objects.get()
    assert sent.url == f"/plans/{plan.pk}/" and started == [plan.job]
    assert "Waiting to start" in text(planner.get(sent.url))
    planning.plan_job(plan.job, lambda *beat: None, at=AT)
    watched = planner.get(sent.url, headers={"hx-request": "true"})
    assert watched.headers["HX-Redirect"] == sent.url
    page = words(planner.get(sent.url))
    assert "Proved: no plan is better" in page and "31 days of good interval given up" in page
    assert "Spring begins 31 days before it is due, the last that serves it" in page


def test_days_that_end_before_they_begin_are_refused_with_what_was_typed(planner, unit):
    asked = {"site": unit.site_id, "from_on": "2027-01-01", "to_on": "2026-01-01"}
    answer = planner.post("/plans/propose/", asked)
    assert answer.status_code == 422 and "It ends before it begins" in text(answer)
    assert not Plan.objects.exists()


def test_a_job_whose_process_died_is_begun_again(planner, unit, started):
    plan = planning.ask(unit.site, FROM, TO, by=planner.user, at=AT)
    claim = jobs.claim(plan.job_id, at=AT)
    os.utime(jobs._file(plan.job_id, "beat"), (0, 0))
    started.clear()
    assert "Waiting to start" in text(planner.get(f"/plans/{plan.pk}/"))
    assert [job.pk for job in started] == [plan.job_id]
    assert not claim.end(Job.State.DONE, {}, at=AT)  # the old process has lost it


def test_a_plan_can_be_stopped_and_says_so(planner, unit):
    plan = planning.ask(unit.site, FROM, TO, by=planner.user, at=AT)
    planner.post(f"/plans/{plan.pk}/cancel/")
    assert "Stopped as you asked" in text(planner.get(f"/plans/{plan.pk}/"))
    planner.post(f"/plans/{plan.pk}/discard/")
    assert not Plan.objects.exists()


def test_pins_that_contradict_are_said_instead_of_a_plan(planner, unit):
    row = outage(unit, "Spring", date(2027, 5, 1), bench_hours="8")
    for tag in ("A", "B"):
        place = plant.due(unit, tag, date(2027, 6, 1)).position
        factories.HandPlacingFactory(position=place, outage=row)
    plan = planning.ask(unit.site, FROM, TO, by=planner.user, at=AT)
    result = planning.plan_job(plan.job, lambda *beat: None, at=AT)
    Job.objects.filter(pk=plan.job_id).update(state="done", result=result)
    page = words(planner.get(f"/plans/{plan.pk}/"))
    assert "contradicts itself" in page and "Spring offers 8" in page


def test_it_is_accepted_by_a_button_and_stays(planner, unit):
    plan = worked_out(unit, planner.user)
    planner.post(f"/plans/{plan.pk}/accept/", {"note": "agreed"})
    page = words(planner.get(f"/plans/{plan.pk}/"))
    assert "in force" in page and "agreed" in page
    planner.post(f"/plans/{plan.pk}/discard/")
    assert Plan.objects.filter(pk=plan.pk).exists()


def test_the_lines_are_filtered_and_exported_in_the_columns_of_the_command(planner, unit):
    plant.due(unit, "A", date(2027, 6, 1))
    plant.owed(plant.position(unit, "B"), activity="visual", due_on=date(2027, 6, 1))
    plan = worked_out(unit, planner.user)
    lines = streamed(planner.get(f"/plans/{plan.pk}/?export=csv")).decode().splitlines()
    assert lines[0] == (
        "site,tag,activity,due_on,outage,planned_on,hours,days_given_up,status,days_late,reason"
    )
    assert len(lines) == 2  # what needs no bench is left out, as on the page
    both = streamed(planner.get(f"/plans/{plan.pk}/?export=csv&work=any")).decode().splitlines()
    assert len(both) == 3
    none = words(planner.get(f"/plans/{plan.pk}/?status=placed"))
    assert "No line of this plan is like that" in none
    refused = planner.get(f"/plans/{plan.pk}/?outage=999999&export=csv")
    assert refused.status_code == 400 and b"was not understood" in refused.content


def test_what_a_proposal_moves_is_told_with_its_reason(planner, unit):
    spring = outage(unit, "Spring", date(2027, 5, 1))
    plant.due(unit, "A", date(2027, 6, 1))
    worked_out(unit, planner.user, accept=True)
    Outage.objects.filter(pk=spring.pk).update(starts_on=date(2027, 6, 2), ends_on=date(2027, 7, 1))
    after = worked_out(unit, planner.user)
    page = words(planner.get(f"/plans/{after.pk}/compare/"))
    assert "Those that lose their place come first" in page
    assert "No outage of its unit begins on or before 1 Jun 2027" in page


def test_moving_an_outage_has_the_plan_in_force_proposed_again(planner, unit, started):
    spring = outage(unit, "Spring", date(2027, 5, 1))
    plant.due(unit, "A", date(2027, 6, 1))
    worked_out(unit, planner.user, accept=True)
    started.clear()
    form = {
        "site": unit.site_id, "name": "Spring", "units": [unit.pk], "status": "planned",
        "starts_on": "2027-05-08", "ends_on": "2027-05-28",
    }  # fmt: skip
    answer = planner.post(f"/outages/{spring.pk}/edit/", form, follow=True)
    assert len(started) == 1 and "it moves as little as it can" in words(answer)


@pytest.mark.parametrize(
    ("changed", "is_asked"),
    [
        ({"status": "cancelled"}, True),
        ({"bench_hours": "16"}, True),
        ({"weekly_hours": "40"}, True),
        ({"status": "under_way"}, False),
        ({"name": "Spring of 2027"}, False),
        ({"bench_hours": "20.00"}, False),
    ],
)
def test_what_a_plan_rests_on_has_it_proposed_again(planner, unit, started, changed, is_asked):
    spring = outage(unit, "Spring", date(2027, 5, 1), bench_hours="20")
    worked_out(unit, planner.user, accept=True)
    started.clear()
    form = {
        "site": unit.site_id, "name": "Spring", "units": [unit.pk], "status": "planned",
        "starts_on": "2027-05-01", "ends_on": "2027-05-11", "bench_hours": "20",
    }  # fmt: skip
    assert planner.post(f"/outages/{spring.pk}/edit/", form | changed).status_code == 302
    assert bool(started) == is_asked


def test_a_line_explains_itself_and_names_the_next_best(planner, unit):
    outage(unit, "Early", date(2027, 3, 1), bench_hours="20")
    outage(unit, "Late", date(2027, 5, 1), bench_hours="20")
    plant.due(unit, "A", date(2027, 6, 1))
    job = worked_out(unit, planner.user).jobs.get()
    page = words(planner.get(f"/plan-jobs/{job.pk}/"))
    assert "Next best: Early, which gives up 61 days more" in page
    assert "31 days 20 h the plan's choice" in page  # what is free there without this visit


def test_it_is_pinned_by_hand_with_a_reason_and_lifted_again(planner, unit):
    row = outage(unit, "Early", date(2027, 3, 1))
    plant.due(unit, "A", date(2027, 6, 1))
    job = worked_out(unit, planner.user).jobs.get()
    where = f"/plan-jobs/{job.pk}/settle/"
    assert planner.post(where, {"outage": row.pk, "kind": "pin", "reason": " "}).status_code == 422
    planner.post(where, {"outage": row.pk, "kind": "pin", "reason": "the crane"})
    placing = HandPlacing.objects.standing().get()
    assert "the crane" in words(planner.get(f"/plan-jobs/{job.pk}/"))
    planner.post(f"/plans/placings/{placing.pk}/lift/")
    assert not HandPlacing.objects.standing().exists()


def test_what_has_no_opportunity_is_shown_the_ways_left(planner, unit):
    outage(unit, "Spring", date(2027, 5, 1))
    plant.due(unit, "A", date(2027, 4, 20))
    job = worked_out(unit, planner.user).jobs.get()
    page = text(planner.get(f"/plan-jobs/{job.pk}/"))
    assert f"/obligations/{job.obligation_id}/leave/?policy=" in page
    assert "until_on=2027-05-01" in page and "Add an outage" in page
    asked = planner.get(
        f"/obligations/{job.obligation_id}/leave/?policy=assessed&until_on=2027-05-01"
    )
    assert 'value="2027-05-01"' in text(asked)


def test_what_is_past_its_date_is_told_no_day_that_is_past_as_well(planner, unit):
    outage(unit, "Spring", date(2027, 5, 1))
    plant.due(unit, "A", date(2026, 9, 1))
    job = worked_out(unit, planner.user).jobs.get()
    page = words(planner.get(f"/plan-jobs/{job.pk}/"))
    assert "on or before" not in page and "nothing serves this line in time any more" in page


def test_what_has_no_record_waits_longer_in_the_next_best_and_gives_up_nothing(planner, unit):
    outage(unit, "Spring", date(2027, 5, 1))
    outage(unit, "Summer", date(2027, 7, 1))
    plant.owed(plant.position(unit, "A"), activity="bench_test", state="no_record")
    job = worked_out(unit, planner.user).jobs.get()
    page = words(planner.get(f"/plan-jobs/{job.pk}/"))
    assert "Next best: Summer, 61 days later" in page and "0 days" not in page


def test_a_proposal_that_is_not_worked_out_is_compared_with_nothing(planner, unit):
    plant.due(unit, "A", date(2027, 6, 1))
    worked_out(unit, planner.user, accept=True)
    waiting = planning.ask(unit.site, FROM, TO, by=planner.user, at=AT)
    page = words(planner.get(f"/plans/{waiting.pk}/compare/"))
    assert "has not been worked out" in page and "every line where" not in page


def test_late_scope_is_asked_for_and_answered_by_another_person(planner, engineer, unit):
    spring = outage(unit, "Spring", date(2027, 5, 1), freeze_on=date(2026, 10, 1))
    worked_out(unit, planner.user, accept=True)
    plant.due(unit, "A", date(2027, 6, 1))
    job = worked_out(unit, planner.user).jobs.get()
    planner.post(f"/plan-jobs/{job.pk}/late-scope/", {"outage": spring.pk, "reason": "it leaks"})
    asked = LateScope.objects.get()
    assert "it leaks" in words(engineer.get("/plans/"))
    page = f"/plans/late-scope/{asked.pk}/"
    assert engineer.post(page, {"answer": "refused", "answer_words": ""}).status_code == 422
    engineer.post(page, {"answer": "approved", "answer_words": "go on"})
    asked.refresh_from_db()
    assert asked.answer == "approved" and asked.answered_by == engineer.user


def test_a_plan_costs_the_same_queries_for_three_lines_and_thirty(
    planner, unit, django_assert_max_num_queries
):
    outage(unit, "Spring", date(2027, 5, 1))

    def queries(count):
        for number in range(count):
            plant.due(unit, f"P-{count}-{number}", date(2027, 6, 1))
        plan = worked_out(unit, planner.user)
        planner.get(f"/plans/{plan.pk}/")
        with django_assert_max_num_queries(60) as seen:
            planner.get(f"/plans/{plan.pk}/")
        return len(seen)

    assert queries(3) == queries(30)


@pytest.mark.parametrize(
    ("status", "said"), [("stopped", "not worked out"), ("feasible", "nothing")]
)
def test_an_hour_that_was_not_priced_in_time_is_not_said_to_save_nothing(
    planner, unit, status, said
):
    outage(unit, "Spring", date(2027, 5, 1), bench_hours="20")
    plan = factories.PlanFactory(site=unit.site, solver_status=status)
    page = words(planner.get(f"/plans/{plan.pk}/"))
    assert f"20 {said} " in page
