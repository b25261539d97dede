"""The compliance list's page: a day, an evening, every status, and files of what is filtered."""

import csv
import io
import json
from datetime import date

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

from inspections.reports.compliance import COLUMNS
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, streamed, text
from tests.inspections.reports.records import dated

pytestmark = pytest.mark.django_db
URL = "/compliance/"


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer", site__name="North works")


@pytest.fixture
def auditor(unit):
    return signed_in("auditor", unit.site)


def exported(client, kind, **ask):
    return streamed(client.get(URL, {"export": kind, **ask}))


def rows(client, **ask):
    return list(csv.DictReader(io.StringIO(exported(client, "csv", **ask).decode())))


def test_a_line_says_state_rule_evidence_and_opens_its_record(auditor, unit):
    obligation, inspection, _ = dated(unit, found="152 psig", reseat="141 psig")
    page = text(auditor.get(URL))
    place = obligation.position
    for piece in (
        f'href="/positions/{place.pk}/">PSV-1</a>',
        f'href="/devices/{inspection.device_id}/">D-1</a>',
        "serial S1",
        f'href="/inspections/{inspection.pk}/">W-1</a>',
        "no more than 5 years apart",
        "not checked against a copy",
        "opened at 152 psig, reseated at 141 psig",
        "Bench test, on the bench, air",
        "compliant",
    ):
        assert piece in page


def test_the_day_is_today_until_another_is_asked_for(auditor, unit):
    dated(unit, date(2024, 3, 1), due_on=date(2025, 3, 1))
    assert "31 October 2026" in text(auditor.get(URL))
    then = text(auditor.get(URL, {"as_of": "2025-03-01"}))
    assert "1 March 2025" in then and "due soon" in then
    assert rows(auditor, as_of="2025-03-02")[0]["status"] == "overdue"


@pytest.mark.parametrize("name", ["as_of", "as_known_on"])
def test_a_day_to_come_is_refused_in_words_and_not_exported(auditor, unit, name):
    page = auditor.get(URL, {name: "2026-11-01"})
    assert page.status_code == 200
    assert "A day that is not in the future was expected." in text(page)
    for kind in ("csv", "pdf"):
        assert auditor.get(URL, {name: "2026-11-01", "export": kind}).status_code == 400


def test_an_evening_before_the_day_gets_a_note(auditor, unit):
    page = text(auditor.get(URL, {"as_of": "2025-03-01", "as_known_on": "2025-01-01"}))
    assert "nothing done in between can stand in it" in page
    later = text(auditor.get(URL, {"as_of": "2025-03-01", "as_known_on": "2025-03-01"}))
    assert "nothing done in between" not in later


def test_counts_by_status_lead_to_their_lines(auditor, unit):
    dated(unit)
    plant.due(unit, "LATE", date(2026, 1, 1))
    page = text(auditor.get(URL))
    assert "<b>1</b>overdue" in page and "status=overdue" in page
    late = text(auditor.get(URL, {"status": "overdue"}))
    assert ">LATE</a>" in late and ">PSV-1</a>" not in late


def test_what_is_filtered_is_what_is_exported(auditor, unit):
    dated(unit)
    other = factories.UnitFactory(site=unit.site, name="Urea")
    plant.due(other, "LATE", date(2026, 1, 1))
    assert [r["tag"] for r in rows(auditor)] == ["LATE", "PSV-1"]
    assert [r["tag"] for r in rows(auditor, sort="-tag")] == ["PSV-1", "LATE"]
    assert [r["tag"] for r in rows(auditor, unit=other.pk)] == ["LATE"]
    assert [r["tag"] for r in rows(auditor, status="compliant", find="d-1")] == ["PSV-1"]


def test_the_files_have_the_columns_of_the_contract(auditor, unit):
    dated(unit)
    assert list(rows(auditor)[0]) == list(COLUMNS)
    said = json.loads(exported(auditor, "json"))
    assert said["summary"]["as_of"] == "2026-10-31" and said["summary"]["all"] == 1
    assert said["rows"][0]["late_entry"] == "no" and said["rows"][0]["deferred_until"] is None
    sheet = load_workbook(io.BytesIO(exported(auditor, "xlsx"))).active
    assert [cell.value for cell in sheet[1]] == list(COLUMNS)


def test_the_pdf_holds_every_line_and_is_the_same_each_time(auditor, unit):
    dated(unit, found="152 psig")
    plant.due(unit, "LATE", date(2026, 1, 1))
    response = auditor.get(URL, {"export": "pdf", "status": "compliant"})
    assert response["Content-Type"] == "application/pdf"
    assert "compliance-list-2026-10-31.pdf" in response["Content-Disposition"]
    said = PdfReader(io.BytesIO(response.content)).pages[0].extract_text()
    assert "PSV-1" in said and "LATE" not in said
    assert "state compliant" in said
    assert exported(auditor, "pdf", status="compliant") == response.content


def test_another_sites_lines_are_not_seen(auditor):
    dated(factories.UnitFactory())
    assert "PSV-1" not in text(auditor.get(URL)).replace("placeholder", "")
    assert rows(auditor) == []


@pytest.mark.parametrize("ask", [{}, {"as_of": "2026-10-30", "as_known_on": "2026-10-30"}])
def test_a_page_costs_the_same_queries_for_three_rows_and_for_thirty(
    auditor, unit, ask, django_assert_num_queries, django_assert_max_num_queries
):
    def plants(numbers):
        for n in numbers:
            plant.due(unit, f"PSV-{n:02}", date(2028, 1, 1))

    plants(range(3))
    auditor.get(URL, ask)
    # who asks; what can be asked; counts of five statuses of two sources; count; lines; facts
    with django_assert_max_num_queries(36) as few:
        auditor.get(URL, ask)
    plants(range(3, 30))
    with django_assert_num_queries(len(few.captured_queries)):
        auditor.get(URL, ask)
