"""The command `settings_review`: columns, envelope, day, site, and what it refuses."""

import csv
import io
import json
from datetime import date

import pytest
from django.core.management import CommandError, call_command

from inspections.models import FlagState
from inspections.reports.settings import COLUMNS
from tests import factories
from tests.fleet.reports.plant import TODAY
from tests.inspections.reports.records import record

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def device():
    row = factories.DeviceFactory(number="D-1", site__name="North works")
    record(row, date(2024, 3, 1), found="160 psig")
    return row


def said(*arguments) -> str:
    out = io.StringIO()
    call_command("settings_review", *arguments, stdout=out)
    return out.getvalue()


def test_csv_has_every_column_of_the_contract(device):
    [row] = csv.DictReader(io.StringIO(said("--format", "csv")))
    assert list(row) == list(COLUMNS)
    assert (row["device"], row["flags"], row["n"]) == ("D-1", "out_of_tolerance", "1")


def test_json_is_one_object_of_rows_and_summary(device):
    whole = json.loads(said("--format", "json"))
    assert set(whole) == {"rows", "summary"}
    assert list(whole["rows"][0]) == list(COLUMNS)
    assert whole["rows"][0]["drift_per_year"] is None
    assert whole["summary"]["as_of"] == "2026-10-31"
    assert whole["summary"]["flagged_devices"] == 1


def test_the_table_is_for_a_screen(device):
    assert said().splitlines()[0].startswith("tag")
    assert "first pop 160 psig was high" in said()


def test_only_facts_dated_by_the_day(device):
    assert len(said("--format", "csv", "--as-of", "2024-03-01").splitlines()) == 2
    assert len(said("--format", "csv", "--as-of", "2024-02-29").splitlines()) == 1


def test_a_site_narrows_it_by_where_the_device_is(device):
    factories.SiteFactory(name="South works")
    assert "D-1" in said("--site", "North works")
    assert "D-1" not in said("--site", "South works")


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["--as-of", "yesterday"], "“yesterday”: a day such as 2026-10-31"),
        (["--as-of", "2026-11-01"], "a day that is not in the future was expected"),
        (["--site", "Nowhere"], "“Nowhere”: no such site"),
        (["--by", "nobody"], "“nobody”: nobody signs in with this name"),
    ],
)
def test_what_cannot_be_read_is_refused_by_name(arguments, why):
    with pytest.raises(CommandError, match=why):
        said(*arguments)


def test_it_makes_the_kept_review_again_and_lists_nothing(device):
    assert said("--restate") == "reviewed as of entry 0: 0 settings judged\n"
    assert FlagState.objects.get().code == "out_of_tolerance"
