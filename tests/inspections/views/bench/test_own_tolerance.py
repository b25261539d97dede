"""The site's own as-left tolerance at the bench: answered while typed, and a reason asked for.

+/-1 % as left: common practice. 1 % of 150 psig is 1.5 psig.
"""

import pytest
from django.urls import reverse

from fleet.actions.as_left import leave_within
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.shop import AT
from tests.inspections.views.bench.pages import RING, send, stored, url

pytestmark = pytest.mark.django_db


@pytest.fixture
def narrow(shop):
    definition = {"basis": "gauge", "bands": [{"low": "-1 %", "high": "1 %"}]}
    band = factories.ToleranceBandFactory(code="site-1pc", definition=definition)
    leave_within(shop.site, band.code, by=shop.second, at=AT)


@pytest.mark.parametrize(
    ("typed", "words", "asks"),
    [
        ("151 psig", "within this site&#x27;s own 148.5 psig to 151.5 psig (site-1pc)", False),
        ("153 psig", "above this site&#x27;s own", True),
        ("147 psig", "below this site&#x27;s own", True),
        ("160 psig", "above this site&#x27;s own", False),  # opened high: out of the limit too
    ],
)
def test_both_bands_answer_while_it_is_typed(narrow, mechanic, job, typed, words, asks):
    address = reverse("bench_judge", args=[job.pk, "as_left"])
    said = text(mechanic.get(address, {"as_left_pop": typed}))
    assert words in said and "band 145.5 psig to 154.5 psig" in said
    assert ('class="line asks"' in said) is asks


def test_the_reason_is_asked_where_it_applies_and_goes_on_record(narrow, shop, mechanic, job):
    page = text(mechanic.get(url(job, "as_left")))
    assert 'class="why"' in page and "This site leaves valves within <b>148.5 psig" in page
    settings = {(RING, "as_found"): "5 notches", (RING, "as_left"): "5 notches"}
    shop.popped(job, left="153 psig", settings=settings)
    assert 'class="why asked"' in text(mechanic.get(url(job, "as_left")))
    assert "say why, or set it again" in text(mechanic.get(reverse("bench_sign", args=[job.pk])))
    page = text(send(mechanic, stored(job), "as_left", left_reason="spring at its end"))
    assert stored(job).left_reason == "spring at its end"
    shop.sign(job)
    shop.verify(job)
    page = text(mechanic.get(reverse("inspection", args=[job.pk])))
    assert "above the site&#x27;s own site-1pc" in page and "spring at its end" in page


def test_with_none_entered_there_is_no_box_and_no_number(mechanic, job):
    page = text(mechanic.get(url(job, "as_left")))
    assert 'name="left_reason"' not in page and "This site leaves" not in page
