"""Background work: claimed once, beating, cancelled when asked, given up when its process died."""

import os
import threading
import time

import pytest
from django.db import connection

from fleet import jobs
from fleet.models import Job
from tests.factories import RECORDED_AT, JobFactory

AT = RECORDED_AT


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.mark.django_db
def test_a_job_is_claimed_once():
    job = JobFactory()
    claim = jobs.claim(job.pk, at=AT)
    assert claim.job.state == Job.State.RUNNING and claim.token
    assert jobs.claim(job.pk, at=AT) is None


@pytest.mark.django_db(transaction=True)
def test_three_racers_run_it_once():
    job, won = JobFactory(), []

    def race():
        try:
            won.append(jobs.claim(job.pk, at=AT))
        finally:
            connection.close()

    racers = [threading.Thread(target=race) for _ in range(3)]
    for racer in racers:
        racer.start()
    for racer in racers:
        racer.join()
    assert len([claim for claim in won if claim]) == 1


@pytest.mark.django_db
def test_a_beat_says_where_the_work_stands():
    claim = jobs.claim(JobFactory().pk, at=AT)
    claim.beat("inspections", 5, 10)
    assert jobs.read_beat(claim.job.pk) == jobs.Beat(claim.token, "inspections", 5, 10)
    claim.beat("inspections", 6, 10)  # within the second: not written
    assert jobs.read_beat(claim.job.pk).done == 5


@pytest.mark.django_db
def test_a_cancelled_job_stops_at_its_next_beat():
    claim = jobs.claim(JobFactory().pk, at=AT)
    jobs.cancel(claim.job, at=AT)
    with pytest.raises(jobs.Stopped):
        claim.beat("inspections", 10, 10)
    assert claim.end(Job.State.CANCELLED, {}, at=AT)
    assert Job.objects.get().state == Job.State.CANCELLED


@pytest.mark.django_db
def test_a_waiting_job_is_cancelled_at_once():
    job = JobFactory()
    jobs.cancel(job, at=AT)
    assert jobs.claim(job.pk, at=AT) is None
    assert Job.objects.get().state == Job.State.CANCELLED


@pytest.mark.django_db
def test_a_job_without_a_sign_of_life_is_given_up_and_cannot_end_later(media):
    claim = jobs.claim(JobFactory().pk, at=AT)
    assert not jobs.is_stale(claim.job)
    old = time.time() - jobs.STALE_SECONDS - 1
    os.utime(media / "jobs" / f"{claim.job.pk}.beat", (old, old))
    assert jobs.is_stale(claim.job)
    jobs.give_up(claim.job, at=AT)
    assert Job.objects.get().state == Job.State.FAILED
    assert not claim.end(Job.State.DONE, {"counts": {}}, at=AT)
    with pytest.raises(jobs.Stopped):
        claim.beat("inspections", 10, 10)
