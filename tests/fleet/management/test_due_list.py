"""The command `due_list`: its columns, envelope, horizon, and what it refuses."""

import csv
import io
import json
from datetime import date

import pytest
from django.core.management import CommandError, call_command

from fleet.reports.due import COLUMNS
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer", site__name="North works")


def said(*arguments) -> str:
    out = io.StringIO()
    call_command("due_list", *arguments, stdout=out)
    return out.getvalue()


def rows(*arguments):
    return list(csv.DictReader(io.StringIO(said("--format", "csv", *arguments))))


def test_csv_has_every_column_and_a_row_for_each_obligation_and_each_bare_position(unit):
    plant.due(unit, "PSV-1", date(2026, 9, 20), number="N-1")
    bare = plant.position(unit, "PSV-2")
    plant.fitted(bare)
    plant.stamp_lines([bare])
    listed = rows()
    assert tuple(listed[0]) == COLUMNS
    assert [(r["tag"], r["status"], r["days_left"]) for r in listed] == [
        ("PSV-2", "no_obligation", ""),
        ("PSV-1", "overdue", "-41"),
    ]


def test_json_is_one_object_with_the_keys_of_the_csv(unit):
    plant.due(unit, "PSV-1", date(2026, 9, 20))
    answer = json.loads(said("--format", "json"))
    assert set(answer) == {"rows", "summary"}
    assert tuple(answer["rows"][0]) == COLUMNS
    assert answer["rows"][0]["open_proposal"] is None
    assert answer["summary"]["as_of"] == "2026-10-31"
    assert answer["summary"]["overdue"] == 1


def test_the_table_is_for_a_screen(unit):
    plant.due(unit, "PSV-1", date(2026, 9, 20))
    head, _, row = said().splitlines()
    assert head.split()[:2] == ["tag", "unit"] and row.startswith("PSV-1")


def test_an_empty_database_answers_with_the_head_alone():
    assert said("--format", "csv").strip() == ",".join(COLUMNS)
    assert json.loads(said("--format", "json"))["rows"] == []


def test_within_never_hides_what_is_late(unit):
    plant.due(unit, "LATE", date(2026, 1, 1))
    plant.due(unit, "EDGE", date(2027, 4, 29))
    plant.due(unit, "BEYOND", date(2027, 4, 30))
    assert [r["tag"] for r in rows("--within", "P180D")] == ["LATE", "EDGE"]


def test_a_day_a_site_and_a_unit_narrow_it(unit):
    plant.due(unit, "PSV-1", date(2026, 9, 20))
    plant.due(factories.UnitFactory(site=unit.site, name="Urea"), "PSV-2", date(2026, 9, 20))
    assert len(rows("--site", "North works")) == 2
    assert [r["tag"] for r in rows("--unit", "Urea")] == ["PSV-2"]
    assert rows("--unit", "Urea", "--as-of", "2026-09-01")[0]["status"] == "due_soon"


def test_by_shows_what_that_person_may_see(unit):
    plant.due(unit, "PSV-1", date(2026, 9, 20))
    stranger = factories.MembershipFactory().user
    assert rows("--by", stranger.username) == []


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--as-of", "31.10.2026"], "--as-of “31.10.2026”: a day such as 2026-10-31"),
        (["--as-of", "0001-01-01"], "from 1950 to 2200"),
        (["--within", "180"], "--within “180”: expected"),
        (["--site", "Nowhere"], "no such site; there is North works"),
        (["--unit", "Nowhere"], "no such unit"),
        (["--by", "nobody"], "nobody signs in with this name"),
    ],
)
def test_what_it_does_not_understand_it_names(unit, arguments, words):
    with pytest.raises(CommandError, match=words.replace(".", r"\.")):
        said(*arguments)


def test_a_unit_name_of_two_sites_asks_which(unit):
    factories.UnitFactory(name="Reformer")
    with pytest.raises(CommandError, match="several sites have one"):
        said("--unit", "Reformer")
