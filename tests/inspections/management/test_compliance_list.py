"""The command `compliance_list`: columns, envelope, files, and what it refuses."""

import csv
import io
import json

import pytest
from django.core.management import CommandError, call_command
from openpyxl import load_workbook
from pypdf import PdfReader

from inspections.reports.compliance import COLUMNS
from tests import factories
from tests.fleet.reports.plant import TODAY
from tests.inspections.reports.records import dated

pytestmark = pytest.mark.django_db
DAY = ("--as-of", "2026-10-31")


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer", site__name="North works")


def said(*arguments, stderr=None) -> str:
    out = io.StringIO()
    call_command("compliance_list", *arguments, stdout=out, stderr=stderr or io.StringIO())
    return out.getvalue()


def test_csv_has_every_column_of_the_contract(unit):
    dated(unit)
    [row] = csv.DictReader(io.StringIO(said(*DAY)))
    assert list(row) == list(COLUMNS)
    assert (row["as_of"], row["tag"], row["status"]) == ("2026-10-31", "PSV-1", "compliant")


def test_json_is_one_object_of_rows_and_summary(unit):
    dated(unit)
    whole = json.loads(said(*DAY, "--format", "json", "--as-known-on", "2026-10-31"))
    assert whole["rows"][0]["done_by"] and whole["rows"][0]["deferral_policy"] is None
    assert whole["summary"]["as_known_on"] == "2026-10-31"
    assert whole["summary"]["compliant"] == 1


@pytest.mark.parametrize("kind", ["csv", "json", "xlsx", "pdf"])
def test_every_format_goes_into_a_file(unit, tmp_path, kind):
    dated(unit)
    path = tmp_path / f"list.{kind}"
    assert said(*DAY, "--format", kind, "--out", str(path)) == ""
    if kind == "xlsx":
        assert [cell.value for cell in load_workbook(path).active[1]] == list(COLUMNS)
    elif kind == "pdf":
        assert "PSV-1" in PdfReader(path).pages[0].extract_text()
    else:
        assert "PSV-1" in path.read_text()


def test_an_evening_before_the_day_is_noted_beside_the_list(unit):
    dated(unit)
    noted = io.StringIO()
    said(*DAY, "--as-known-on", "2026-10-30", stderr=noted)
    assert "nothing done in between can stand in it" in noted.getvalue()


def test_a_site_narrows_it(unit):
    dated(unit)
    factories.SiteFactory(name="South works")
    assert "PSV-1" in said(*DAY, "--site", "North works")
    assert "PSV-1" not in said(*DAY, "--site", "South works")


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        ([], "--as-of"),
        (["--as-of", "2026-11-01"], "--as-of “2026-11-01”: a day that is not in the future"),
        ([*DAY, "--as-known-on", "2026-11-01"], "--as-known-on “2026-11-01”: a day that is not"),
        ([*DAY, "--as-known-on", "soon"], "--as-known-on “soon”: a day such as"),
        ([*DAY, "--format", "pdf"], "say where with --out FILE"),
        ([*DAY, "--out", "/no/such/folder/list.csv"], "No such file or directory"),
    ],
)
def test_what_cannot_be_done_is_refused_by_name(arguments, why):
    with pytest.raises(CommandError, match=why):
        said(*arguments)
