"""What a load says of days that do not fit, of an approver nobody noted, and of a rule cleared."""

import pytest
from django.core.management import call_command

from inspections.models import Question
from tests.inspections.exchange.books import Book

pytestmark = pytest.mark.django_db

OWED = {"tag": "PSV-1", "activity": "bench_test"}
DECISION = OWED | {
    "from_on": "2025-08-01", "interval": "P1Y", "reason": "fouling", "decided_by": "Eva Engel",
}  # fmt: skip
LEAVE = OWED | {
    "due_on": "2029-05-02", "until_on": "2029-06-01", "policy": "simple", "reason": "no parts",
    "approved_by": "not recorded", "approved_on": "2025-02-01",
}  # fmt: skip
TRIGGER = {"tag": "PSV-1", "kind": "release", "happened_on": "2010-02-28"}
CASES = {
    "before the place entered service": (
        "triggers", TRIGGER, ["triggers 2 happened_on before_service"],
    ),
    "on the day it entered service": ("triggers", TRIGGER | {"happened_on": "2010-03-01"}, []),
    "past on its first day": ("decisions", DECISION, ["decisions 2 act_by act_by_missing"]),
    "past, with a day to act by": ("decisions", DECISION | {"act_by": "2025-09-01"}, []),
    "not yet past on its first day": ("decisions", DECISION | {"from_on": "2025-05-02"}, []),
    "approved by nobody knows whom": (
        "deferrals", LEAVE, ["deferrals 2 approved_by approver_missing"],
    ),
    "approved by somebody": ("deferrals", LEAVE | {"approved_by": "Ivy Insp"}, []),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_it_loads_and_is_asked_about_once(tmp_path, name):
    sheet, row, expected = CASES[name]
    book = Book()
    book[sheet].append(row)
    report = book.load(tmp_path)
    assert not report.faults
    said = [f"{f.sheet} {f.row} {f.field} {f.code}" for f in report.findings]
    assert said == expected, report.findings
    assert Question.objects.open().count() == len(expected)
    assert not book.load(tmp_path).counts
    call_command("check_due_dates")


@pytest.mark.parametrize(
    ("sheet", "row", "column"),
    [
        ("rules", {"id": "own", "kind": "max_gap", "parameters": '{"gap":"P4Y"}'}, "kind"),
        ("rules", {"id": "own", "kind": "max_gap", "parameters": '{"gap":"P4Y"}'}, "parameters"),
        ("tolerances", {"id": "own", "low": "-3 %", "high": "3 %", "floor": "2 psig"}, "floor"),
    ],
)
def test_what_is_in_use_is_not_cleared(tmp_path, sheet, row, column):
    book = Book()
    book[sheet].append(row | {"citation": "house rule"})
    assert not book.load(tmp_path).faults
    book[sheet][0][column] = "!clear"
    report = book.load(tmp_path)
    assert (column, "!clear") in [(f.field, f.typed) for f in report.faults]
    assert not report.counts
