"""The page of the workload ahead: what it says first, what it links to, who may say what."""

import csv
import io
from datetime import date
from decimal import Decimal

import pytest

from fleet.models import AuditEntry, Site
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, streamed, text, words

pytestmark = pytest.mark.django_db
PAGE = "/outages/ahead/"


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    factories.JobHoursFactory(activity="bench_test", kind="", hours="4.00")
    return factories.UnitFactory(name="Reformer", site__name="Blackwater")


@pytest.fixture
def outage(unit):
    for number in range(1, 4):
        plant.due(unit, f"PSV-{number}", date(2027, 5 + number, 1))
    return factories.OutageFactory(
        site=unit.site,
        units=[unit],
        name="Spring",
        starts_on=date(2027, 5, 1),
        ends_on=date(2027, 5, 31),
        bench_hours=Decimal(10),
    )


@pytest.fixture
def planner(unit):
    return signed_in("planner", unit.site)


def rows(response):
    return list(csv.DictReader(io.StringIO(streamed(response).decode())))


def test_the_heaviest_month_is_said_before_anything_is_drawn(planner, outage):
    page = words(planner.get(PAGE))
    said = "The heaviest month is May 2027: 12 h against 10 h offered: 2 h too many."
    assert said in page and page.index(said) < page.index("All units")


def test_a_month_over_what_is_offered_has_a_word_a_shape_and_a_link(planner, outage, unit):
    page = text(planner.get(PAGE))
    assert "Months over what is offered" in page and 'class="state late"' in page
    assert "beyond-offer" in page and "over by 2 h" in page
    query = f"?site={unit.site_id}&amp;years=5&amp;month=2027-05"
    assert page.count(f'href="/outages/ahead/month/{query}"') >= 2  # in the drawing, in the list
    assert f'href="/outages/ahead/month/?unit={unit.pk}&amp;years=5&amp;month=2027-05"' in page


def test_every_month_with_work_says_itself(planner, outage):
    page = text(planner.get(PAGE))
    said = "May 2027: 12 h at the bench, 3 visits; 10 h offered; over by 2 h"
    assert f'aria-label="{said}"' in page
    assert 'aria-label="Reformer, May 2032: 12 h at the bench, 3 visits"' not in page  # beyond
    longer = text(planner.get(f"{PAGE}?years=6"))
    assert 'aria-label="Reformer, May 2032: 12 h at the bench, 3 visits"' in longer


def test_years_are_five_to_ten_and_anything_else_is_said(planner, outage):
    assert "10 years" in words(planner.get(f"{PAGE}?years=10"))
    for wrong in ("4", "11", "soon"):
        page = text(planner.get(f"{PAGE}?years={wrong}"))
        assert "It is left out below." in page and "5 years" in page
        assert planner.get(f"{PAGE}?years={wrong}&export=csv").status_code == 400


def test_a_month_lists_its_visits_with_the_outage_they_are_in(planner, outage, unit):
    page = text(planner.get(f"/outages/ahead/month/?unit={unit.pk}&month=2027-05"))
    for number in range(1, 4):
        assert f">PSV-{number}</a>" in page
    assert f'href="/outages/{outage.pk}/"' in page and "the next visit" in page
    later = words(planner.get("/outages/ahead/month/?years=6&month=2032-05"))
    assert "1 after the next, projected" in later and "no outage is known" in later


@pytest.mark.parametrize("wrong", ["2027-13", "2027", "soon", "1999-01", "2032-05", ""])
def test_a_month_that_is_none_of_the_span_is_not_there(planner, outage, wrong):
    assert planner.get(f"/outages/ahead/month/?month={wrong}").status_code == 404


def test_what_is_shown_is_what_is_exported(planner, outage, unit):
    found = rows(planner.get(f"{PAGE}?export=csv"))
    assert len(found) == 60
    (may,) = [row for row in found if row["month"] == "2027-05"]
    assert (may["unit"], may["hours"], may["visits"]) == ("Reformer", "12", "3")
    assert (may["site_hours_offered"], may["site_days_nobody_spoke_of"]) == ("10", "0")
    assert [row["hours_on_due_dates"] for row in found[8:11]] == ["4", "4", "4"]
    listed = rows(planner.get("/outages/ahead/month/?month=2027-05&export=csv"))
    assert [(row["tag"], row["outage"], row["hours"]) for row in listed] == [
        (f"PSV-{number}", "Spring", "4.00") for number in range(1, 4)
    ]
    assert streamed(planner.get(f"{PAGE}?export=xlsx")).startswith(b"PK")


def sent(client, site, **typed):
    return client.post(f"/sites/{site.pk}/bench-hours/", typed, follow=True)


def weekly(site):
    return Site.objects.get(pk=site.pk).weekly_bench_hours


def test_a_planner_says_what_an_ordinary_week_takes_and_takes_it_back(planner, unit):
    page = words(sent(planner, unit.site, weekly_bench_hours="37.5"))
    assert "Blackwater, an ordinary week at the bench: 37.5 h." in page
    assert weekly(unit.site) == Decimal("37.5")
    entry = AuditEntry.objects.order_by("pk").last()
    assert (entry.action, entry.by) == ("weekly bench hours set", planner.user)
    sent(planner, unit.site, weekly_bench_hours="0")
    assert weekly(unit.site) == 0  # none, which is something said
    page = words(sent(planner, unit.site, weekly_bench_hours=""))
    assert "nobody says" in page and weekly(unit.site) is None


def test_saying_the_same_again_changes_nothing(planner, unit):
    sent(planner, unit.site, weekly_bench_hours="40")
    entries = AuditEntry.objects.count()
    sent(planner, unit.site, weekly_bench_hours="40.00")
    assert AuditEntry.objects.count() == entries


@pytest.mark.parametrize("typed", [{}, {"weekly_bench_hours": "-1"}, {"weekly_bench_hours": "x"}])
def test_what_cannot_be_read_is_said_and_changes_nothing(planner, unit, typed):
    sent(planner, unit.site, weekly_bench_hours="40")
    page = sent(planner, unit.site, **typed)
    assert page.status_code == 422 and 'class="errors"' in text(page)
    assert weekly(unit.site) == 40


def test_others_read_it_and_another_site_is_out_of_reach(planner, unit, outage):
    page = text(signed_in("auditor", unit.site).get(PAGE))
    assert "The heaviest month" in page and "bench-hours/" not in page
    elsewhere = factories.UnitFactory(site__name="Elsewhere")
    plant.due(elsewhere, "PSV-9", date(2027, 6, 1))
    assert "Elsewhere" not in text(planner.get(PAGE))
    assert "PSV-9" not in text(planner.get("/outages/ahead/month/?month=2027-06"))
    assert sent(planner, elsewhere.site, weekly_bench_hours="1").status_code == 404
    assert "It is left out below." in text(planner.get(f"{PAGE}?unit={elsewhere.pk}"))


def test_the_outages_lead_here(planner, unit):
    assert f'href="{PAGE}"' in text(planner.get("/outages/"))
