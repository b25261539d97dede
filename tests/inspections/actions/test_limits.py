"""Limits of a model's parts: said whole, with their source, and under the proof. All invented."""

import pytest

from fleet.actions.people import command_line_user
from fleet.faults import Refused
from fleet.models import AuditEntry
from fleet.reports.proof import differences
from inspections.actions.limits import remove_limit, save_limit
from inspections.models import PartLimit
from tests import factories
from tests.inspections.shop import AT

pytestmark = pytest.mark.django_db


@pytest.fixture
def by():
    return command_line_user(at=AT)


def limit(**columns):
    given = {"part": "spring", "measure": "free height", "low": "118.5 mm", "source": "drawing 7"}
    model = columns.pop("model", None) or factories.DeviceModelFactory()
    return PartLimit(model=model, **given | columns)


def named():
    return [str(each) for each in differences() if "partlimit" in each.where]


def test_a_limit_is_written_changed_and_taken_away_under_the_proof(by):
    row = save_limit(limit(), by=by, at=AT)
    row.low = "118 mm"
    save_limit(row, by=by, at=AT)
    assert "118 mm" in AuditEntry.objects.filter(action="part limit saved").last().after
    assert named() == []
    remove_limit(row, by=by, at=AT)
    assert not PartLimit.objects.exists() and named() == []


@pytest.mark.parametrize(
    ("columns", "field", "words"),
    [
        ({"part": " "}, "part", "the part"),
        ({"measure": ""}, "measure", "the measure"),
        ({"source": ""}, "source", "who says so"),
        ({"low": ""}, "low", "at least one end"),
        ({"low": "118.5"}, "low", "the unit is missing"),
        ({"low": "5/0 in"}, "low", "over zero"),
        ({"high": "two"}, "high", "one number and its unit"),
        ({"high": "118 mm"}, "high", "not below the low end, 118.5 mm"),
        ({"high": "4.6 in"}, "high", "not below the low end"),
        ({"high": "5 %"}, "high", "the same kind of unit"),
    ],
)
def test_what_is_wrong_with_a_limit_is_said_at_its_field(by, columns, field, words):
    with pytest.raises(Refused) as refused:
        save_limit(limit(**columns), by=by, at=AT)
    [fault] = refused.value.faults
    assert fault.field == field and words in fault.expected
    assert not PartLimit.objects.exists()


def test_a_measure_has_one_limit_however_it_is_spelled(by):
    first = save_limit(limit(), by=by, at=AT)
    with pytest.raises(Refused, match="one limit for it"):
        save_limit(limit(model=first.model, part="Spring", measure="Free-height"), by=by, at=AT)
