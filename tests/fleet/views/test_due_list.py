"""The due list's page: what it says before any click, filters, exports, scope, cost."""

import csv
import io
import json
from datetime import date

import pytest
from openpyxl import load_workbook

from fleet.reports.due import COLUMNS
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, streamed, text

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


@pytest.fixture
def planner(unit):
    return signed_in("planner", unit.site)


def exported(client, query):
    response = client.get(f"/due/?export=csv{query}")
    assert response.status_code == 200
    return list(csv.DictReader(io.StringIO(streamed(response).decode())))


def test_late_work_is_said_first_with_its_days_and_its_reason(planner, unit):
    plant.due(unit, "PSV-2107B", date(2026, 9, 20))
    page = text(planner.get("/due/"))
    assert "overdue 41 days" in page
    assert "5 years after 20 Sep 2021 (the owner&#x27;s own)" in page
    assert "20 Sep 2026" in page


def test_every_figure_leads_to_the_rows_it_counts(planner, unit):
    plant.due(unit, "LATE", date(2026, 1, 1))
    plant.due(unit, "SOON", date(2026, 12, 1))
    plant.owed(plant.position(unit, "EMPTY"), state="no_device")
    figures = planner.get("/due/").context["figures"]
    for figure in figures:
        rows = planner.get(f"/due/{figure.url}").context["table"].paginator.count
        assert rows == figure.number, figure
    assert {f.status: f.number for f in figures} == {
        "overdue": 1,
        "due_soon": 1,
        "no_opportunity": 1,
        "no_device": 1,
    }


def test_the_line_of_each_row_and_the_head_share_one_axis(planner, unit):
    plant.due(unit, "PSV-1", date(2027, 1, 1))
    page = text(planner.get("/due/"))
    assert 'aria-label="time axis,' in page
    assert 'aria-label="last done 1 Jan 2022, due 1 Jan 2027, due soon"' in page


def test_work_that_needs_no_outage_is_not_said_to_lack_one(planner, unit):
    plant.due(unit, "PSV-1", date(2027, 1, 1), activity="lever")
    page = planner.get("/due/")
    assert "on stream" in text(page)
    assert [f.number for f in page.context["figures"] if f.status == "no_opportunity"] == [0]


def test_what_is_exported_is_what_is_filtered_in_the_same_order(planner, unit):
    other = factories.UnitFactory(site=unit.site)
    plant.due(unit, "A", date(2027, 1, 1))
    plant.due(unit, "B", date(2026, 12, 1))
    plant.due(other, "C", date(2026, 12, 1))
    rows = exported(planner, f"&unit={unit.pk}&sort=-tag")
    assert [row["tag"] for row in rows] == ["B", "A"]
    assert list(rows[0]) == list(COLUMNS)
    assert rows[0]["due_on"] == "2026-12-01" and rows[0]["days_left"] == "31"


def test_a_workbook_opens_again_and_a_tag_like_a_formula_stays_text(planner, unit):
    plant.due(unit, "=1+1", date(2026, 9, 20))
    response = planner.get("/due/?export=xlsx")
    sheet = load_workbook(io.BytesIO(response.content)).active
    head, row = ([cell.value for cell in line] for line in sheet.rows)
    assert head == list(COLUMNS)
    assert row[COLUMNS.index("tag")] == "'=1+1"
    assert row[COLUMNS.index("days_left")] == -41
    assert all(cell.data_type != "f" for line in sheet.rows for cell in line)


def test_json_is_one_object_of_rows_and_summary(planner, unit):
    plant.due(unit, "PSV-1", date(2026, 9, 20))
    said = json.loads(streamed(planner.get("/due/?export=json")))
    assert set(said) == {"rows", "summary"}
    assert list(said["rows"][0]) == list(COLUMNS)
    assert said["rows"][0]["target_on"] is None
    assert said["summary"]["overdue"] == 1


def test_a_question_that_is_not_understood_is_said_and_never_exported(planner, unit):
    plant.due(unit, "PSV-1", date(2026, 9, 20))
    page = planner.get("/due/?status=nonsense&as_of=31.10.2026")
    assert page.status_code == 200
    assert "left out below" in text(page)
    assert planner.get("/due/?status=nonsense&export=csv").status_code == 400


@pytest.mark.parametrize("query", ["?page=99", "?page=x", "?sort=nonsense", "?sort=-", "?unit=9"])
def test_an_odd_address_still_answers(planner, unit, query):
    plant.due(unit, "PSV-1", date(2026, 9, 20))
    assert planner.get(f"/due/{query}").status_code == 200


def test_an_earlier_day_can_be_asked_and_is_named(planner, unit):
    plant.due(unit, "PSV-1", date(2026, 9, 20))
    page = text(planner.get("/due/?as_of=2026-09-01"))
    assert "1 September 2026" in page and "due in 19 days" in page


def test_other_sites_do_not_show_nor_can_their_units_be_asked(planner, unit):
    plant.due(unit, "MINE", date(2027, 1, 1))
    foreign = factories.UnitFactory()
    plant.due(foreign, "THEIRS", date(2027, 1, 1))
    assert "THEIRS" not in text(planner.get("/due/"))
    assert planner.get(f"/due/?unit={foreign.pk}&export=csv").status_code == 400


def test_nobody_reads_it_without_signing_in(client):
    response = client.get("/due/?status=overdue")
    assert response.status_code == 302
    assert response["Location"] == "/sign-in/?next=/due/%3Fstatus%3Doverdue"


@pytest.mark.parametrize("query", ["", "?as_of=2026-10-30"])
def test_the_page_costs_the_same_for_three_rows_and_for_thirty(
    planner, unit, query, django_assert_max_num_queries, django_assert_num_queries
):
    def plants(numbers):
        for n in numbers:
            plant.due(unit, f"PSV-{n:02}", date(2027, 1, 1))
            plant.owed(plant.position(unit, f"E-{n:02}"), state="no_device")

    factories.OutageFactory(site=unit.site, units=[unit])
    plants(range(3))
    # session, user, roles; sites, units, outages for the filter; stale stamps; outages of units;
    # counts by state and by four conditions; the page's count and lines; five look-ups of a page
    with django_assert_max_num_queries(30 if query else 22) as few:
        planner.get(f"/due/{query}")
    plants(range(3, 15))
    with django_assert_num_queries(len(few.captured_queries)):
        assert len(planner.get(f"/due/{query}").context["table"].page) == 30
