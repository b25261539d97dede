"""The demo as it is loaded: the lists say its stories of rules, and its proofs are clean.

Every date beside a rule of law is worked by hand from the section named; the owners' own rules are
invented, and so are their dates.
"""

import json
from datetime import date
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import transaction
from django.test import override_settings

from fleet.models import Obligation, Proposal, ServiceEvent, User
from fleet.permissions import ENGINEER
from fleet.reports.group import Group
from inspections.demo.plant import AS_OF
from inspections.demo.sheets import SITES
from inspections.demo.sign_ins import SIGN_INS
from inspections.demo.stories import STORIES
from inspections.management.commands.demo import Command
from inspections.models import Question
from inspections.reports.compliance import ComplianceList, ComplianceRow

pytestmark = pytest.mark.django_db
TAG = {story.key: story.tag for story in STORIES}


@pytest.fixture(scope="module")
def plant(django_db_setup, django_db_blocker):
    """Loaded once, answered and signed in to, and gone again afterwards."""
    with (
        django_db_blocker.unblock(),
        override_settings(FIXED_TODAY=AS_OF),
        transaction.atomic(),
    ):
        Command(stdout=StringIO(), stderr=StringIO())._load()
        yield
        transaction.set_rollback(True)


def said(command: str, *arguments: str) -> dict:
    out = StringIO()
    call_command(command, *arguments, "--format", "json", stdout=out)
    return json.loads(out.getvalue())


@pytest.fixture(scope="module")
def due(plant) -> dict[tuple[str, str, str], dict]:
    """(tag, activity, rule) -> its row on the last day."""
    rows = said("due_list")["rows"]
    return {(row["tag"], row["activity"], row["rule"]): row for row in rows}


@pytest.fixture(scope="module")
def compliance(plant) -> list[ComplianceRow]:
    return list(ComplianceList(AS_OF).every_row())


BENCH, IN_PLACE, LEVER = "bench_test", "in_place_test", "lever"
LINES = [
    # NBIC NB-23 Part 4: over 400 psi every 3 years, under 400 psi every year and a lift every 6
    # months; heating boilers before the season, in the six months before its first day
    ("boiler_by_pressure", IN_PLACE, "nbic-boiler-high", "compliant", "2029-07-21", "3 years"),
    ("season_missed", IN_PLACE, "nbic-heating", "overdue", "2026-09-30", "2026-10-01"),
    ("season_served", IN_PLACE, "nbic-heating", "compliant", "2027-09-30", "2027-10-01"),
    ("season_served", LEVER, "nbic-heating-lever", "due_soon", "2027-01-28", "3 months"),
    # 49 CFR 192.739(a), 192.743(a): each calendar year, intervals not exceeding 15 months
    ("fifteen_months", IN_PLACE, "us-49cfr192.739", "compliant", "2027-07-15", "15 months after"),
    ("calendar_year", IN_PLACE, "us-49cfr192.739", "due_soon", "2026-12-31", "calendar year 2026"),
    ("pilot_and_main", "capacity_review", "us-49cfr192.743", "compliant", "2027-07-21", "15 mon"),
    # 40 CFR 63.165(b), (d): within 5 calendar days of a release
    ("release_open", "disc_change", "us-40cfr63.165", "due_soon", "2026-11-03", "2026-10-29"),
    ("release_answered", "disc_change", "us-40cfr63.165", "compliant", None, "2025-06-19"),
    ("lengthened", "visual", "us-40cfr63.165", "compliant", None, "nothing calls for it now"),
    # ASME OM Code Appendix I: 5 years each, two more after a failure
    ("called_in", IN_PLACE, "om-class1", "overdue", "2026-10-16", "calls in 2 more"),
    ("called_in_answered", IN_PLACE, "om-class1", "compliant", "2031-10-22", "5 years"),
    ("group_failure", IN_PLACE, "om-class1", "compliant", "2031-10-16", "5 years"),
    # 46 CFR table 61.05-10, note 2: two in any five years, three years at most
    ("two_in_five_years", BENCH, "us-46cfr61-watertube", "due_soon", "2026-11-10", "any 5 years"),
    ("three_years_at_sea", BENCH, "us-46cfr61-watertube", "compliant", "2028-04-09", "3 years"),
    ("easing_gear", LEVER, "PG-easing-gear", "compliant", "2027-03", "6 months"),
    # 33 CFR 156.170(f): 30 days before a season that opens on 1 April
    ("transfer_hose", BENCH, "us-33cfr156.170", "compliant", "2027-03-01", "2027-04-01"),
    # 49 CFR 180.605(c): first 4 years, then every 2 until 12 years of service, then every year
    ("grown_old", BENCH, "us-49cfr180.605-60", "compliant", "2027-04-29", "1 year after"),
    ("first_four_years", BENCH, "us-49cfr180.605-60", "compliant", "2028-03-11", "4 years after"),
    ("age_unknown", BENCH, "us-49cfr180.605-60", "interval_not_set", None, "entered service"),
    # 49 CFR 230.50: every 92 service days. 79 in the 181 days to 30 October: 92 in 210
    ("service_days", IN_PLACE, "us-49cfr230.50", "due_soon", "2026-11-28", "projected"),
    ("counter_still", IN_PLACE, "us-49cfr230.50", "interval_not_set", None, "do not say when"),
    # the owners' own rules
    ("replaced_rule", BENCH, "VS-7/2", "compliant", "2027-06-19", "issue 2"),
    ("laid_up", BENCH, "VS-7/2", "not_required", None, "out of service since 2024-11-04"),
    ("laid_up_and_owed", IN_PLACE, "VS-21", "due_soon", "2026-11-19", "2 years"),
    ("returned_untested", BENCH, "VS-33", "overdue", "2026-04-20", "return to service"),
    ("deferred_simply", BENCH, "VS-7/2", "overdue_deferred", "2026-09-20", "2027-01-07 (simple)"),
    ("postponed", BENCH, "VS-7/2", "overdue_deferred", "2026-08-30", "single postponement"),
    ("deferral_expired", BENCH, "VS-7/2", "overdue", "2026-04-12", "has expired"),
    ("test_period", LEVER, "DP-quarterly", "overdue_deferred", "2026-10-20", "test period"),
    # API 510 6.6.2 (from memory): ten years at most
    ("lengthened", BENCH, "api510-process", "compliant", "2031-05-15", "7 years"),
    ("proposal_accepted", BENCH, "api510-clean", "compliant", "2029-03-07", "interval decided"),
]


@pytest.mark.parametrize(("key", "activity", "rule", "status", "due_on", "words"), LINES)
def test_the_due_list_says_it(due, key, activity, rule, status, due_on, words):
    row = due[TAG[key], activity, rule]
    assert row["status"] == status
    assert (row["due_on"] or "").startswith(due_on or "") and bool(row["due_on"]) == bool(due_on)
    assert words in row["reason"]


def test_what_came_back_tested_is_not_late(due):
    assert due["PSV-4502", BENCH, "VS-33"]["due_on"] == "2029-04-15"


def test_the_valve_beside_the_burst_disc_owes_its_reading(due):
    assert due["PSV-2802", "visual", "us-40cfr63.165"]["due_on"] == "2026-11-03"


def test_the_docking_serves_what_two_in_five_years_asks(due):
    row = due[TAG["two_in_five_years"], BENCH, "us-46cfr61-watertube"]
    assert row["last_outage_before_due"] == "Docking 2026"


def test_a_replaced_rule_keeps_the_days_before(plant):
    """Four years as issue 1 had it, three from the first day of issue 2."""
    tag = TAG["replaced_rule"]
    asked = ((date(2023, 12, 31), "2025-10-13"), (date(2024, 1, 1), "2024-10-13"))
    for as_of, due_on in asked:
        rows = said("due_list", "--as-of", str(as_of))["rows"]
        assert [row["due_on"] for row in rows if row["tag"] == tag] == [due_on]


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("group_failure", "as-received failure, open 15 days"),  # raised 16 October
        ("new_service", "new service, open 180 days"),  # raised 4 May
    ],
)
def test_an_open_proposal_shows_its_age_on_both_lists(due, compliance, key, words):
    shown = {row["open_proposal"] for (tag, *_), row in due.items() if tag == TAG[key]}
    assert shown == {words}
    assert {str(row.proposal) for row in compliance if row.tag == TAG[key]} == {words}


def test_one_proposal_was_accepted_and_one_declined_and_neither_is_shown(due):
    answered = Proposal.objects.exclude(answered_on=None).select_related("position")
    assert {(row.position.tag, row.answer) for row in answered} == {
        (TAG["proposal_accepted"], Proposal.Answer.ACCEPTED),
        (TAG["proposal_declined"], Proposal.Answer.DECLINED),
    }
    assert all(row.answer_words and row.answered_by.name for row in answered)
    tags = {row.position.tag for row in answered}
    assert not any(row["open_proposal"] for (tag, *_), row in due.items() if tag in tags)


def test_what_the_owner_allows_by_absolute_pressure_is_in_order(plant):
    """26.5 kPag on 25.0 is 6 % of gauge; (26.5 + 101.3) / (25.0 + 101.3) is 1.2 % of absolute."""
    device = next(story.device for story in STORIES if story.key == "absolute_tolerance")
    event = ServiceEvent.objects.get(device__number=device, done_on=date(2025, 8, 13))
    assert event.as_found_percent == 6
    assert event.as_found_verdict == "in"


def test_a_late_approval_loads_as_an_open_question(compliance):
    """API 510, 6.7 (from memory): recorded on or before the due date."""
    asked = Question.objects.open().filter(position__tag=TAG["late_approval"])
    assert ["recorded on or before the due date" in one.text for one in asked] == [True]
    rows = [row for row in compliance if row.tag == TAG["late_approval"]]
    assert any(row.open_questions for row in rows)


def test_the_group_holds_its_sample_and_one_of_two_is_still_owed(plant):
    """OM Code Appendix I: of 16 at least 4 in any 24 months; six and five, and one called in."""
    owed = Obligation.objects.filter(rule__code="om-class1").first()
    group = Group(owed, AS_OF, User.objects.get(username="station"))
    assert (group.summary.members, group.summary.needed) == (16, 4)
    assert group.summary.tested == 6 + 5 + 1
    called = group.calls[-1]
    assert {one.tag: one.is_open for one in called.called} == {
        TAG["called_in"]: True,
        TAG["called_in_answered"]: False,
    }


def test_the_proofs_are_clean(plant):
    assert said("check_due_dates")["summary"]["differences"] == 0
    assert said("verify_audit")["summary"]["differences"] == 0


def test_an_engineer_signs_in_for_every_site(plant):
    assert {site for one in SIGN_INS if ENGINEER in one.roles for site in one.sites} == set(SITES)
