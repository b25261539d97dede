"""The settings review's page: flagged first, honest about what a flag is, exported as filtered."""

import csv
import io
import json
from datetime import date

import pytest
from openpyxl import load_workbook

from fleet import clock, jobs
from fleet.models import AuditHead, Job
from inspections.actions.acknowledge import acknowledge
from inspections.kept import catching_up
from inspections.kept.job import KIND, catch_up_job
from inspections.models import FlagState
from inspections.reports.settings import COLUMNS
from inspections.reports.settings_ask import Review, SettingsAsk, screened_review
from tests import factories
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, streamed, text
from tests.inspections.reports.records import record, written

pytestmark = pytest.mark.django_db
URL = "/settings-review/"


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def site():
    return factories.SiteFactory(name="North works")


@pytest.fixture
def client(site):
    return signed_in("engineer", site)


def device(site, number, **what):
    row = factories.DeviceFactory(number=number, site=site, serial=f"S-{number}")
    record(row, date(2024, 3, 1), ref=f"W-{number}", **what)
    return row


def exported(client, kind, **ask):
    return streamed(client.get(URL, {"export": kind, **ask}))


def rows(client, **ask):
    return list(csv.DictReader(io.StringIO(exported(client, "csv", **ask).decode())))


def test_flagged_devices_come_first_with_their_reason_in_words(client, site):
    device(site, "A-1")
    device(site, "B-2", found="160 psig")
    page = text(client.get(URL))
    assert page.index("B-2") < page.index("A-1")
    assert "first pop 160 psig was high, 1 Mar 2024 (W-B-2)" in page
    assert "nothing flagged" in page


def test_the_page_says_which_flags_are_facts_and_which_statistics(client, site):
    device(site, "A-1", found="160 psig")
    page = text(client.get(URL))
    assert "<b>1</b> of 1 device show something" in page
    assert "Most flags are facts" in page
    assert "0 settings were judged, 1 have not enough readings" in page
    assert "at most 0.0 may be expected to be chance" in page


def test_every_row_is_drawn_on_one_axis_and_pops_on_their_band(client, site):
    device(site, "A-1", rings=("-7 notches", "-9 notches"))
    page = text(client.get(URL))
    assert page.count("time axis, ") == 1
    assert "Lower ring, notches, from ring touching the disc holder: 2 readings" in page
    assert "as found 0.0 %, as left 0.0 %, band −3.0 % to +3.0 %" in page
    assert "found −7 notches" in page and "left −9 notches" in page


def test_what_is_filtered_is_what_is_exported(client, site):
    device(site, "A-1", found="160 psig")
    device(site, "B-2", rings=("-7 notches", "-7 notches"))
    assert len(rows(client)) == 3
    assert [r["device"] for r in rows(client, flag="any")] == ["A-1"]
    assert {r["device"] for r in rows(client, find="s-b")} == {"B-2"}
    assert next(r["setting"] for r in rows(client, sort="setting")) == "lower_ring"
    assert rows(client, flag="sticking") == []


def test_the_exports_have_the_columns_of_the_contract(client, site):
    device(site, "A-1", found="160 psig", rings=("-7 notches", "-7 notches"))
    assert list(rows(client)[0]) == list(COLUMNS)
    said = json.loads(exported(client, "json"))
    assert set(said) == {"rows", "summary"}
    assert said["rows"][0]["flags"] == ["out_of_tolerance"]
    assert said["rows"][0]["last_deviation_percent"] == "6.67"
    assert said["rows"][0]["datum"] is None
    sheet = load_workbook(io.BytesIO(exported(client, "xlsx"))).active
    assert [cell.value for cell in sheet[1]] == list(COLUMNS)
    assert sheet.max_row == 3


def test_a_name_that_a_spreadsheet_would_run_is_neutralised_and_a_reading_is_not(client, site):
    device(site, "=1+1", rings=("-7 notches", "+3 notches"))
    ring = next(r for r in rows(client) if r["setting"] == "lower_ring")
    assert ring["device"] == "'=1+1"
    assert (ring["last_as_found"], ring["last_as_left"]) == ("-7 notches", "+3 notches")
    assert ring["last_shop_reset"] == "+10 notches"


def test_a_day_to_come_is_refused_in_words(client, site):
    device(site, "A-1")
    page = text(client.get(URL, {"as_of": "2027-01-01"}))
    assert "A day that is not in the future was expected." in page
    assert client.get(URL, {"as_of": "2027-01-01", "export": "csv"}).status_code == 400


def test_an_earlier_day_shows_the_records_up_to_it(client, site):
    row = device(site, "A-1", found="160 psig")
    record(row, date(2025, 3, 1), ref="W-LATER")
    page = text(client.get(URL, {"as_of": "2024-06-30"}))
    assert "30 June 2024" in page and "found 160 psig" in page
    assert "found 150 psig" in text(client.get(URL))


def test_another_site_is_not_seen(client, site):
    device(factories.SiteFactory(), "THEIRS")
    assert "THEIRS" not in text(client.get(URL))
    assert rows(client) == []


def test_the_review_is_worked_out_again_once_something_was_written(client, site):
    head = AuditHead.objects.create(number=1, digest="a" * 64)
    row = device(site, "A-1")
    assert "W-A-1" not in text(client.get(URL, {"flag": "any"}))
    record(row, date(2025, 3, 1), found="160 psig", ref="W-NEW")
    head.number, head.digest = 2, "b" * 64
    head.save()
    assert "W-NEW" in text(client.get(URL, {"flag": "any"}))


def test_a_page_costs_the_same_queries_for_three_rows_and_for_thirty(
    client, site, django_assert_num_queries, django_assert_max_num_queries
):
    written(device(site, f"D-{n}") for n in range(3))
    client.get(URL)
    # session, user, memberships; sites, units, models, fluids (two) asked by; head, screening,
    # sites; the keys of the page, its review's nine, its flags; undated, proposals
    with django_assert_max_num_queries(26) as few:
        client.get(URL)
    queries = len(few.captured_queries)
    written(device(site, f"D-{n}") for n in range(3, 30))
    client.get(URL)
    with django_assert_num_queries(queries):
        client.get(URL)


def test_much_that_was_written_is_taken_in_by_one_job_and_the_page_says_so(
    client, site, monkeypatch
):
    monkeypatch.setattr(catching_up, "FEW", 0)
    monkeypatch.setattr(jobs, "start", lambda job: None)
    written([device(site, "A-1", found="160 psig")])
    assert "more was written since" in text(client.get(URL))
    client.get(URL)
    job = Job.objects.get(kind=KIND)
    catch_up_job(job, lambda doing, done, total: None, at=clock.now())
    page = text(client.get(URL))
    assert "more was written since" not in page and "A-1" in page


def test_an_answered_flag_is_shown_and_can_be_asked_for(client, site):
    row = device(site, "A-1", found="160 psig")
    written([row])
    client.get(URL)
    flag = FlagState.objects.get()
    acknowledge(
        device=row.pk,
        setting="set_pressure",
        code=flag.code,
        fingerprint=flag.fingerprint,
        note="The gauge was off",
        by=factories.UserFactory(),
        at=clock.now(),
    )
    assert [r["device"] for r in rows(client, acknowledged="yes")] == ["A-1"]
    assert rows(client, acknowledged="no") == []


def test_the_list_narrows_by_what_a_device_stands_in(client, site):
    place = factories.PositionFactory(unit__site=site, fluid="steam")
    factories.PositionDutyFactory(position=place, fluid="steam")
    row = device(site, "A-1")
    factories.InstallationFactory(position=place, device=row)
    device(site, "B-2")
    client.get(URL)  # what is kept says which fluids there are to choose
    assert [r["device"] for r in rows(client, service="steam")] == ["A-1"]


WHERE = "Site, unit and service are those of the position where a device"


def test_unit_and_service_are_where_a_device_is_now_and_the_page_says_so(client, site):
    """A-1 went from the crude unit to the reformer; B-2 came out and lies in the store."""
    crude, reformer = (factories.UnitFactory(site=site, name=n) for n in ("Crude", "Reformer"))
    here, there = (
        factories.PositionFactory(unit=unit, site=site, fluid=fluid)
        for unit, fluid in ((crude, "naphtha"), (reformer, "steam"))
    )
    for place, fluid in ((here, "naphtha"), (there, "steam")):
        factories.PositionDutyFactory(position=place, unit=place.unit, fluid=fluid)
    moved, out = device(site, "A-1"), device(site, "B-2")
    for row, place, *days in (
        (moved, here, date(2020, 1, 1), date(2025, 1, 1)),
        (moved, there, date(2025, 1, 1), None),
        (out, here, date(2025, 1, 1), date(2026, 1, 1)),
    ):
        factories.InstallationFactory(
            device=row, position=place, installed_on=days[0], removed_on=days[1]
        )
    assert WHERE not in text(client.get(URL))
    past = date(2024, 12, 1)
    for ask in ({"unit": crude.pk}, {"service": "naphtha"}):
        assert [r["device"] for r in rows(client, **ask)] == ["B-2"]
        assert f"{WHERE} stands today, or stood last" in text(client.get(URL, ask))
        then = Review(past, screened_review(past), SettingsAsk(**ask))
        assert [row.device for row in then.found] == ["A-1"], "where it stood that day"
    assert [r["device"] for r in rows(client, unit=reformer.pk)] == ["A-1"]


def test_a_past_day_is_worked_out_by_one_job_and_the_page_says_how_far(client, site, monkeypatch):
    monkeypatch.setattr(catching_up, "FEW", 0)
    monkeypatch.setattr(jobs, "start", lambda job: None)
    written([device(site, "A-1", found="160 psig")])
    asked = {"as_of": "2025-12-31"}
    assert "This day is being worked out" in text(client.get(URL, asked))
    assert client.get(URL, {**asked, "export": "csv"}).status_code == 503
    assert "after another that was asked for first" in text(
        client.get(URL, {"as_of": "2024-12-31"})
    )
    job = Job.objects.get(kind=KIND)
    jobs.claim(job.pk, at=clock.now()).beat("Reviewing the settings of devices", 4500, 20000)
    assert "4500 of 20000" in text(client.get(URL, asked))
    catch_up_job(job, lambda doing, done, total: None, at=clock.now())
    page = text(client.get(URL, asked))
    assert "being worked out" not in page and "A-1" in page
    assert client.get(URL, {**asked, "export": "csv"}).status_code == 200
