"""What is missing before a signature says where it is typed, and one tap goes there."""

import pytest
from django.urls import reverse

from fleet.faults import Fault
from inspections.forms.walk import walk_for
from inspections.views.missing import placed
from tests.inspections.shop import Shop

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("field", "activity", "kind", "step"),
    [
        ("first_pop", "overhaul", "spring", "as_received"),
        ("vacuum_pop", "bench_test", "vent", "vac_found"),
        ("vacuum_left", "bench_test", "vent", "vac_left"),
        ("lower_ring as found", "overhaul", "spring", "as_found"),
        ("lower_ring as left", "overhaul", "spring", "reassemble"),
        ("as_left_pop", "overhaul", "spring", "as_left"),
        ("contact check", "overhaul", "spring", "inspect"),
        ("disc lot", "disc_change", "rupture_disc", "disc"),
        ("disposition", "disc_change", "rupture_disc", "outcome"),
        ("done_by", "overhaul", "spring", "seal"),
        ("received_on", "overhaul", "spring", "arrival"),
        ("lower_ring as left", "bench_test", "spring", ""),
        ("something else", "bench_test", "spring", ""),
    ],
)
def test_what_is_missing_leads_to_its_step(field, activity, kind, step):
    job = Shop().open()
    [one] = placed(job, [Fault(field, "", "it")], walk_for(activity, kind))
    assert one["url"] == (reverse("bench_step", args=[job.pk, step]) if step else "")


def test_the_sign_page_links_what_is_missing(mechanic, job):
    page = mechanic.get(reverse("bench_sign", args=[job.pk])).content.decode()
    assert f'href="{reverse("bench_step", args=[job.pk, "as_received"])}">As-received pop' in page
