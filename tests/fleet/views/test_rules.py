"""The rule library: every rule in words, at work, and tried on days of one's own."""

import csv
import io
import re
from datetime import date

import pytest

from fleet.calc import library
from fleet.calc.intervals import SHAPES
from fleet.calc.limits import LIMITS
from fleet.forms.rules import BOXES
from fleet.reports.rules import FIELD_WORDS, KIND_WORDS, field_of
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


def tried(client, code, **typed):
    return text(client.get(f"/rules/{code}/", typed))


def test_every_rule_of_the_library_has_a_field_and_a_page(planner):
    page = text(planner.get("/rules/"))
    for code in library.rules():
        assert field_of(code) in FIELD_WORDS
        assert f'href="/rules/{code}/"' in page
        own = text(planner.get(f"/rules/{code}/"))
        assert "At work" in own and 'class="draw worked"' in own


def test_every_kind_has_its_words_its_boxes_and_its_limits():
    assert list(KIND_WORDS) and set(KIND_WORDS) == set(BOXES) == set(SHAPES)
    assert set(LIMITS) == set(SHAPES) - {"by_history"}  # it has none of its own
    assert {row.kind for row in library.rules().values()} == set(SHAPES), "each is shown at work"


def test_the_site_s_own_come_first_and_say_so(planner):
    factories.IntervalRuleFactory(code="own-rule")
    page = text(planner.get("/rules/"))
    assert page.index("own-rule") < page.index("us-49cfr192.739")
    assert "The site&#x27;s own" in page


def test_a_rule_says_how_many_positions_it_has_at_the_reader_s_sites(planner, unit):
    plant.due(unit, "PSV-1", date(2027, 6, 1))
    plant.due(factories.UnitFactory(), "PSV-9", date(2027, 6, 1))
    rows = list(csv.DictReader(io.StringIO(streamed(planner.get("/rules/?export=csv")).decode())))
    (own,) = [row for row in rows if row["id"] == "own-5y"]
    assert own["positions"] == "1" and own["activities"] == "bench_test"
    page = text(planner.get("/rules/own-5y/"))
    assert "PSV-1" in page and "PSV-9" not in page and "1 position " in page


@pytest.mark.parametrize(
    ("asked", "shown", "left_out"),
    [
        ("field=nuclear", "om-class1", "api510-process"),
        ("kind=rolling", "us-46cfr61-watertube", "us-46cfr61-firetube"),
        ("activity=lever", "nbic-boiler-low-lever", "us-46cfr61-firetube"),
        ("checked=no", "api510-process", "us-49cfr192.740"),
        ("find=730", "", "us-49cfr192.739"),
        ("find=two+any+5+years", "us-46cfr61-watertube", "us-46cfr61-firetube"),
        ("used=yes", "", "us-49cfr192.739"),
    ],
)
def test_the_library_can_be_asked(planner, asked, shown, left_out):
    page = text(planner.get(f"/rules/?{asked}"))
    assert f'href="/rules/{left_out}/"' not in page
    assert f'href="/rules/{shown}/"' in page if shown else "No rule matches" in page


def test_what_is_not_understood_is_said_and_not_exported(planner):
    assert "It is left out below" in text(planner.get("/rules/?field=kitchens"))
    assert planner.get("/rules/?field=kitchens&export=csv").status_code == 400


def test_whether_it_was_read_is_a_word_and_a_shape(planner):
    page = text(planner.get("/rules/"))
    assert re.search(r'<span class="state good"><svg[^>]*>.*?</svg>checked against a copy', page)
    assert re.search(r'<span class="state soon"><svg[^>]*>.*?</svg>from memory', page)


# Dates worked out from the words of the law; the section stands beside each.
WORKED = [
    # 49 CFR 192.739(a): calendar year, 15 months at most; the last and the first such day
    ("us-49cfr192.739", {"done": "2024-09-30"}, "30 December 2025", "the interval"),
    ("us-49cfr192.739", {"done": "2024-10-01"}, "31 December 2025", "the calendar"),
    # 46 CFR table 61.05-10 note 2: two in any five years, three years apart at most
    (
        "us-46cfr61-watertube",
        {"done": "2022-11-01, 2020-01-01"},
        "1 January 2025",
        "the number in any window",
    ),
    # 30 CFR 250.804(a)(4): quarterly, 120 days at most
    ("us-30cfr250-quarter", {"done": "2024-01-15"}, "14 May 2024", "the cap"),
    # 49 CFR 180.605(c): 4 years, then 2 until 12 years of age
    (
        "us-49cfr180.605-60",
        {"done": "2014-01-01", "in_service_on": "2010-01-01"},
        "1 January 2016",
        "the interval of its age",
    ),
    ("us-49cfr180.605-60", {"in_service_on": "2010-01-01"}, "1 January 2014", "of its age"),
    # 40 CFR 63.165(d): within 5 calendar days of a release
    ("us-40cfr63.165", {"happened": "2024-02-26"}, "2 March 2024", "what happened"),
    # NBIC NB-23 Part 4, heating boilers (from memory): in the six months before the season
    ("nbic-heating", {"done": "2024-05-10", "season": "10-01"}, "30 September 2025", "the season"),
    ("nbic-heating", {"done": "2024-03-15", "season": "10-01"}, "30 September 2024", "the season"),
    # 49 CFR 230.50: 92 service days; 46 used in the 182 days to 1 July, so 364 days in all
    (
        "us-49cfr230.50",
        {"done": "2024-01-01", "readings": "2024-01-01 0\n2024-07-01 46"},
        "30 December 2024",
        "projected",
    ),
]


@pytest.mark.parametrize(("code", "typed", "due", "binds"), WORKED)
def test_days_that_are_typed_give_the_date_and_what_binds(planner, code, typed, due, binds):
    page = tried(planner, code, **typed)
    assert "What you typed" in page
    (said,) = re.findall(r"<time datetime=.*?>(.*?)</time></b>", page)
    assert said == due and binds in page


def test_a_rule_that_gives_no_date_says_why(planner):
    assert "none is recorded" in tried(planner, "by-history", done="2024-01-01")
    page = tried(planner, "us-40cfr63.165", happened="2024-02-26", done="2024-02-27")
    assert "no release calls for it" in page


def test_a_group_is_tried_by_its_members(planner):
    """ASME OM Code, Appendix I: at least 20 % in any 24 months. Nobody was tested since 2024-11:
    the one longest untested is due before the last test leaves the window."""
    members = "A: 2023-03-02\nB: 2023-03-03\nC: 2023-06-01\nD: 2025-01-01\nE:"
    page = tried(planner, "om-class1", members=members)
    assert "1 of 5 tested in the 24 months to 31 Oct 2026; at least 1 needed" in page
    assert "never tested: it owes one at once" in page
    page = tried(planner, "om-class1", members=members.removesuffix("\nE:"))
    assert "asked for by the group" in page and "1 Jan 2027" in page


def test_a_failure_typed_into_a_group_calls_in_more_of_it(planner):
    """ASME OM Code, Appendix I (from memory): two more of those not tested lately are due at once
    after a failure, and all after a failure among those two."""
    members = "A: 2024-02-01 failed\nB: 2020-03-01\nC: 2020-04-01\nD: 2020-05-01"
    page = tried(planner, "om-class1", members=members)
    assert page.count("a test in its group failed") == 2 and page.count(">1 Feb 2024<") == 2
    assert page.count('class="found outside"') == 1
    page = tried(planner, "om-class1", members=members.replace("C:", "C: 2024-03-01 failed,"))
    assert "calls in the whole group" in page


@pytest.mark.parametrize(
    ("code", "typed", "said"),
    [
        ("us-49cfr192.739", {"done": "2024-13-01"}, "“2024-13-01”: a day such as"),
        ("us-49cfr192.739", {"done": "2024-01-01\n05/06/2024"}, "“05/06/2024”: a day such as"),
        ("us-49cfr192.739", {"done": "2024-10"}, "the day of the month with it"),
        ("us-49cfr192.739", {"done": ""}, "This field is required"),
        ("us-49cfr192.739", {"done": "1802-01-01"}, "a year from 1950 to 2200"),
        ("nbic-heating", {"done": "2024-01-01", "season": "02-29"}, "a day that every year has"),
        ("nbic-heating", {"done": "2024-01-01", "season": "1 Oct"}, "such as 10-01"),
        (
            "us-49cfr180.605-60",
            {"done": "2009-01-01", "in_service_on": "2010-01-01"},
            "a day from 2010-01-01, when it entered service",
        ),
        (
            "us-49cfr230.50",
            {"done": "2024-01-01", "readings": "2024-01-01 50\n2024-02-01 40"},
            "a counter never runs back",
        ),
        (
            "us-49cfr230.50",
            {"done": "2024-01-01", "readings": "2024-01-01 1e9999999"},
            "such as 2024-07-01 46 was expected",
        ),
        ("om-class1", {"members": "A: 2024-01-01\nA: 2024-02-01"}, "stands twice"),
        ("om-class1", {"members": ": 2024-01-01"}, "a name before the colon"),
        ("us-33cfr127.1407-event", {"kind": "party", "happened": "2024-01-01"}, "Select a valid"),
    ],
)
def test_bad_input_is_told_at_its_box(planner, code, typed, said):
    page = tried(planner, code, **typed)
    assert said in page and "errors" in page
    assert "That cannot be read" in page and 'class="draw worked"' not in page


def test_what_is_typed_comes_back_as_text(planner):
    page = tried(planner, "us-49cfr192.739", done="<script>alert(1)</script>")
    assert "<script>alert" not in page


def test_nothing_that_is_tried_is_kept(planner, django_assert_max_num_queries):
    with django_assert_max_num_queries(10) as asked:
        tried(planner, "us-49cfr192.739", done="2024-10-01")
    assert all(query["sql"].startswith("SELECT") for query in asked.captured_queries)


def test_a_rule_shows_what_it_replaced_and_what_replaced_it(planner):
    old = factories.IntervalRuleFactory(code="own-old")
    factories.IntervalRuleFactory(code="own-new", replaces=old, from_on=date(2026, 1, 1))
    page = text(planner.get("/rules/own-old/"))
    assert "From 1 January 2026 on" in page and 'href="/rules/own-new/"' in page
    assert 'href="/rules/own-old/"' in text(planner.get("/rules/own-new/"))


@pytest.mark.parametrize(
    ("kind", "parameters"),
    [
        ("usage", {"counter": "starts", "count": 500}),
        ("after_event", {"kinds": ["process_change"], "days": 30}),
        ("group_sample", dict(library.rules()["om-class1"].parameters)),
        ("by_history", {}),
        ("capped", {"target": "P1Y", "cap": "P15M"}),
    ],
)
def test_an_own_rule_is_shown_at_work_too(planner, kind, parameters):
    factories.IntervalRuleFactory(code="own", kind=kind, parameters=parameters)
    page = text(planner.get("/rules/own/"))
    assert 'class="draw worked"' in page and "not checked" in page


def test_an_unknown_rule_is_nowhere(planner):
    assert planner.get("/rules/nobody-wrote-this/").status_code == 404


def test_three_rules_and_thirty_cost_the_same(planner, unit, django_assert_max_num_queries):
    for number in range(3):
        factories.IntervalRuleFactory(code=f"few-{number}")
    with django_assert_max_num_queries(10) as few:
        planner.get("/rules/")
    old = None
    for number in range(30):
        old = factories.IntervalRuleFactory(
            code=f"many-{number}", replaces=old, from_on=date(2026, 1, number + 1)
        )
    with django_assert_max_num_queries(len(few.captured_queries)):
        planner.get("/rules/")
