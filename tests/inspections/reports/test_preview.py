"""Whoever verifies reads what verification would make of the record, before it is locked for good.

3 % of 150 psig: 145.5 to 154.5 (UG-134(d) via API RP 576 6.2.9.8).
"""

import pytest
from django.urls import reverse
from django.utils.html import escape

from inspections.actions.records import records_of
from inspections.models import Inspection, PopTest
from inspections.reports.preview import preview_of
from tests.fleet.views.signed_in import text
from tests.inspections.shop import Shop, quantity
from tests.inspections.views.bench.pages import client_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return Shop()


def page_of(shop, job):
    return text(client_of(shop.second).get(reverse("inspection", args=[job.pk])))


def test_pops_are_judged_as_they_stand_and_nothing_is_saved(shop):
    job = shop.popped(shop.open(), found="158 psig")
    page = page_of(shop, job)
    assert "145.5 psig to 154.5 psig" in page and "+5.33 %" in page
    assert "judged for good when it locks" in page and "not judged" not in page
    assert set(PopTest.objects.values_list("verdict", flat=True)) == {""}


def test_what_was_written_is_shown_and_not_what_would_follow(shop):
    job = shop.popped(shop.open())
    [record] = records_of([Inspection.objects.get(pk=job.pk)])
    preview = preview_of(record)
    assert preview.why_not == "" and record.inspection.disposition == ""  # not “repaired” yet
    assert record.inspection.position_id == job.position_id


def test_who_verifies_is_told_that_it_would_not_count_and_what_it_leaves_open(shop):
    job = shop.popped(shop.open(), left="156 psig", cap_rig=quantity("155 psig"))
    shop.sign(job)
    page = page_of(shop, job)
    assert "it would not count towards any date: the as-left pop is high" in page
    assert "156 psig is 1 psig above the cap of 155 psig" in page
    [question] = shop.verify(job)  # which is the one that was told
    assert escape(question.text) in page
    assert "Verified as it stands" not in page_of(shop, job)


def test_a_sound_record_warns_of_nothing(shop):
    job = shop.popped(shop.open())
    shop.sign(job)
    assert "Verified as it stands" not in page_of(shop, job)


def test_one_that_is_away_and_has_no_day_is_shown_all_the_same(shop):
    job = shop.open()
    Inspection.objects.filter(pk=job.pk).update(done_on=None, shop="Quill Works")
    assert "Open: nothing here counts yet" in page_of(shop, job)
