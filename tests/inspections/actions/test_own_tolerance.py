"""What a site leaves its valves within: asked a reason at the bench, snapshotted, counting nothing.

The three verdicts kept apart are the limit in force that day, the code's limit for testing more
valves, and the as-left tolerance, often +/-1 % (common practice). Worked by hand: 1 % of 150 psig
is 1.5, so 148.5 to 151.5 psig; ASME VIII above 70 psi 3 %, so 145.5 to 154.5 (UG-134(d) via API
RP 576 6.2.9.8).
"""

import json
from datetime import date

import pytest

from fleet.actions.as_left import leave_within
from fleet.faults import Refused
from fleet.models import AuditEntry, Site, ToleranceBand
from inspections.actions.gates import before_signing
from inspections.actions.records import records_of
from inspections.actions.targets import targets_of
from inspections.models import Inspection
from tests import factories
from tests.inspections.shop import AT, DAY, Shop

pytestmark = pytest.mark.django_db
NARROW = {"basis": "gauge", "bands": [{"low": "-1 %", "high": "1 %"}]}


@pytest.fixture
def shop():
    return Shop()


def leaves_within(shop, from_on=None):
    band = factories.ToleranceBandFactory(code="site-1pc", definition=NARROW, from_on=from_on)
    leave_within(shop.site, band.code, by=shop.second, at=AT)
    return band


def asked(job):
    [record] = records_of([Inspection.objects.get(pk=job.pk)])
    return [f"{f.field} {f.typed}: {f.expected}" for f in before_signing(record, targets_of(job))]


@pytest.mark.parametrize(
    ("left", "is_asked"),
    [
        ("148.5 psig", False),
        ("151.5 psig", False),
        ("151.6 psig", True),
        ("148.4 psig", True),
        ("154.5 psig", True),
        ("154.6 psig", False),  # out of the limit in force: that it does not count is enough
    ],
)
def test_inside_the_limit_but_outside_its_own_asks_why(shop, left, is_asked):
    leaves_within(shop)
    job = shop.popped(shop.open(), left=left)
    assert bool(asked(job)) is is_asked
    if is_asked:
        said = f"as_left_pop {left}: outside 148.5 psig to 151.5 psig (site-1pc)"
        assert asked(job)[0].startswith(said)
        with pytest.raises(Refused, match="say why, or set it again"):
            shop.sign(job)
        shop.save(job, left_reason="spare due next week")
        assert asked(job) == []


def test_with_none_entered_nothing_is_asked_and_nothing_shown(shop):
    job = shop.popped(shop.open(), left="154 psig")
    assert asked(job) == []
    record = shop.finish(job, left="154 psig")
    pop = record.pops.get(stage="as_left")
    assert (pop.shop_tolerance, pop.shop_verdict, pop.shop_words) == (None, "", "")


def test_what_does_not_go_back_is_asked_nothing(shop):
    leaves_within(shop)
    assert asked(shop.popped(shop.open(), left="154 psig", disposition="scrapped")) == []


@pytest.mark.parametrize(
    ("left", "verdict", "counts"),
    [("151 psig", "in", True), ("154 psig", "high", True), ("147 psig", "low", True)],
)
def test_it_is_snapshotted_on_the_pop_as_left_and_counting_is_as_before(
    shop, left, verdict, counts
):
    band = leaves_within(shop)
    record = shop.finish(shop.open(), left=left, left_reason="agreed with the owner")
    found, pop = record.pops.get(stage="as_found"), record.pops.get(stage="as_left")
    assert (pop.shop_tolerance, pop.shop_verdict, pop.verdict) == (band, verdict, "in")
    assert (found.shop_tolerance, found.shop_verdict) == (None, "")
    assert record.is_counted is counts
    leave_within(shop.site, "", by=shop.second, at=AT)
    assert record.pops.get(stage="as_left").shop_tolerance == band  # what judged it stays


@pytest.mark.parametrize(("from_on", "is_asked"), [(DAY, True), (date(2024, 5, 21), False)])
def test_work_before_the_day_it_holds_from_is_not_asked(shop, from_on, is_asked):
    leaves_within(shop, from_on)
    assert bool(asked(shop.popped(shop.open(), left="154 psig"))) is is_asked
    job = Inspection.objects.get()
    record = shop.finish(job, left="154 psig", left_reason="x")
    assert bool(record.pops.get(stage="as_left").shop_verdict) is is_asked


def test_it_is_set_and_taken_away_in_the_open(shop):
    band = leaves_within(shop)
    entry = AuditEntry.objects.filter(action="as-left tolerance set").last()
    assert entry.by == shop.second
    kept = json.loads(entry.after)["fleet_site"]
    assert (
        dict(zip(kept["columns"], kept["rows"][0], strict=True))["as_left_tolerance_id"] == band.pk
    )
    count = AuditEntry.objects.count()
    leave_within(shop.site, band.code, by=shop.second, at=AT)
    assert AuditEntry.objects.count() == count  # the same again changes nothing
    leave_within(shop.site, "", by=shop.second, at=AT)
    assert Site.objects.get(pk=shop.site.pk).as_left_tolerance is None


def test_a_tolerance_of_the_library_is_taken_into_use_and_an_unknown_one_refused(shop):
    leave_within(shop.site, "asme1", by=shop.second, at=AT)
    assert ToleranceBand.objects.filter(code="asme1").exists()
    with pytest.raises(Refused, match="of the library"):
        leave_within(shop.site, "nobody-knows", by=shop.second, at=AT)
