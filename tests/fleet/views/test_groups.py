"""The pages of sampled groups: what they say before any click, files, scope, other days, cost.

The rule's figures are those of class 1 in ASME OM Appendix I, I-1320; of six, two in any 24 months.
"""

import csv
import io
from datetime import date

import pytest
from openpyxl import load_workbook

from fleet import audit, ledger
from fleet.actions import obligations
from fleet.reports.group_rows import COLUMNS
from fleet.reports.groups import COLUMNS as GROUP_COLUMNS
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.sampled import NOON, TODAY, record, sampled
from tests.fleet.views.signed_in import signed_in, streamed, text

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reactor")


@pytest.fixture
def group(unit):
    return sampled(unit=unit)


@pytest.fixture
def planner(unit):
    return signed_in("planner", unit.site)


def address(group, number=0, query=""):
    return f"/groups/{group.owed[number].pk}/{query}"


def rows(client, path):
    return list(csv.DictReader(io.StringIO(streamed(client.get(path)).decode())))


def words(response):
    return " ".join(text(response).split())


def leave(group, *numbers, on=date(2020, 3, 1)):
    with audit.writing():
        obligations.end([(group.owed[n], on) for n in numbers], by=group.by, at=NOON)
        ledger.replay_positions([group.places[n].pk for n in numbers], at=NOON)


def test_the_page_says_the_rule_and_where_the_group_stands(planner, group):
    page = planner.get(address(group))
    said = page.context["said"]
    assert (said.members, said.needed, said.tested, said.short) == (6, 2, 2, 0)
    assert said.next_on == date(2021, 5, 1) and [s.tag for s in said.following] == ["MS-001"]
    assert "At least 20 % of the group in any 24 months" in text(page)
    assert "the owner&#x27;s own" in text(page)  # the citation
    assert "2 in the 24 months to 1 Jun 2020, 2 needed" in text(page)


def test_any_member_s_obligation_is_an_address_of_the_group(planner, group):
    pages = [planner.get(address(group, number)) for number in (0, 5)]
    first, other = ([row.due.tag for row in page.context["group"].rows] for page in pages)
    assert first == other == [f"MS-00{n}" for n in range(1, 7)]


def test_who_is_next_is_the_longest_untested_with_what_binds(planner, group):
    found = rows(planner, address(group, query="?export=csv"))
    assert list(found[0]) == list(COLUMNS)
    names = ("order", "tag", "last_done_on", "in_window", "as_found_percent", "as_found",
             "own_limit_on", "due_on", "binds", "status")  # fmt: skip
    assert [tuple(row[name] for name in names) for row in found[:3]] == [
        ("1", "MS-001", "2018-01-01", "no", "0.5", "in tolerance", "2023-01-01", "2021-05-01",
         "the group's share", "compliant"),
        ("2", "MS-002", "2018-02-01", "no", "0.5", "in tolerance", "2023-02-01", "2021-06-01",
         "the group's share", "compliant"),
        ("3", "MS-003", "2018-03-01", "no", "0.5", "in tolerance", "2023-03-01", "2023-03-01",
         "own interval", "compliant"),
    ]  # fmt: skip
    assert [row["in_window"] for row in found[3:]] == ["no", "yes", "yes"]
    assert "among those longest untested" in found[0]["reason"]


def test_a_workbook_holds_the_same_rows_in_the_order_asked(planner, group):
    response = planner.get(address(group, query="?export=xlsx&sort=-due_on"))
    head, *lines = load_workbook(io.BytesIO(response.content)).active.values
    assert list(head) == list(COLUMNS)
    assert [line[COLUMNS.index("tag")] for line in lines][:2] == ["MS-006", "MS-005"]
    table = planner.get(address(group, query="?sort=-due_on")).context["table"]
    assert [row.record.due.tag for row in table.paginated_rows][:2] == ["MS-006", "MS-005"]


def test_a_failure_is_told_with_whom_it_called_in_and_whether_they_were_tested(planner, group):
    group.test(0, "2020-03-01", "5.1", "high")
    group.test(1, "2020-03-09")
    page = planner.get(address(group))
    (call,) = page.context["group"].calls
    assert (call.tag, call.on, call.found, call.limit) == (
        "MS-001", date(2020, 3, 1), "+5.10 %, high", "expansion"
    )  # fmt: skip
    assert [(one.tag, one.answered_on, one.is_open) for one in call.called] == [
        ("MS-002", date(2020, 3, 9), False),
        ("MS-003", None, True),
    ]
    assert "MS-003</a> <b>not tested yet</b>" in text(page)
    assert "overdue 92 days" in text(page) and page.context["said"].called == 1


def test_after_a_second_failure_the_whole_group_is_called_in(planner, group):
    group.test(0, "2020-03-01", "5.1", "high")
    group.test(1, "2020-03-09", "-4", "low")
    page = planner.get(address(group))
    second, first = page.context["group"].calls
    assert (second.limit, first.limit) == ("whole_group", "expansion")
    assert [one.tag for one in second.called] == ["MS-003", "MS-004", "MS-005", "MS-006"]
    assert "called in by a second failure" in text(page)


def test_a_call_that_another_limit_hides_is_still_told(planner, group, settings):
    settings.FIXED_TODAY = date(2023, 6, 1)
    record(group.devices[5], "2023-05-01", "6", "high", by=group.by, at=NOON.replace(year=2023))
    page = planner.get(address(group))
    assert page.context["group"].rows[0].limit == "sample"  # past the group's date long before
    assert "Also called in by a failure on <time" in text(page)


def test_what_was_not_recorded_is_not_drawn_as_sound(planner, group):
    record(group.devices[0], "2020-03-01", percent="", by=group.by)
    page = planner.get(address(group))
    row = next(row for row in page.context["group"].rows if row.due.tag == "MS-001")
    assert row.as_found == "not recorded" and row.tests[-1].failed is None
    assert "tested 1 Jan 2018 +0.50 %, in tolerance, 1 Mar 2020 not recorded" in text(page)


def test_another_day_shows_the_group_as_it_stood(planner, group):
    group.test(0, "2020-03-01", "5.1", "high")
    page = planner.get(address(group, query="?as_of=2020-02-29"))
    assert page.context["group"].calls == [] and page.context["said"].called == 0
    found = rows(planner, address(group, query="?as_of=2020-02-29&export=csv"))
    assert (found[0]["tag"], found[0]["due_on"]) == ("MS-001", "2021-05-01")
    page = planner.get(address(group, query="?as_of=2018-02-01"))
    assert page.context["said"].short == 0 and page.context["said"].undated == 4


def test_a_day_that_is_none_is_said_and_not_exported(planner, group):
    assert planner.get(address(group, query="?as_of=nonsense")).status_code == 200
    assert planner.get(address(group, query="?as_of=x&export=csv")).status_code == 400
    assert planner.get("/groups/?as_of=x&export=csv").status_code == 400


def test_a_group_that_nobody_is_in_any_more_says_who_left_and_when(planner, group):
    leave(group, 0, 1, 2, 3, 4)
    leave(group, 5, on=date(2020, 4, 1))
    page = planner.get(address(group))
    assert "Nobody is in this group any more." in words(page)
    assert [(row.tag, row.until_on) for row in page.context["group"].away][:2] == [
        ("MS-006", date(2020, 4, 1)),
        ("MS-001", date(2020, 3, 1)),
    ]
    assert "?as_of=2020-03-31" in text(page)
    assert planner.get(address(group, query="?as_of=2020-03-31")).context["said"].members == 1
    listed = planner.get("/groups/")
    assert [row.left_on for row in listed.context["empty"]] == [date(2020, 4, 1)]
    assert rows(planner, address(group, query="?export=csv")) == []


def test_who_left_for_another_rule_is_followed_there(planner, group):
    leave(group, 5)
    rule = factories.IntervalRuleFactory(code="own-yearly")
    factories.ObligationFactory(position=group.places[5], rule=rule, from_on=date(2020, 3, 1))
    page = planner.get(address(group))
    assert [(row.tag, row.now) for row in page.context["group"].away] == [("MS-006", "own-yearly")]
    assert page.context["said"].members == 5


def test_what_is_not_sampled_has_no_group(planner, unit):
    owed = factories.ObligationFactory(position__unit=unit)
    assert planner.get(f"/groups/{owed.pk}/").status_code == 404
    assert planner.get("/groups/999999/").status_code == 404


def test_the_list_shows_every_group_of_the_reader_s_sites(planner, group):
    sampled(group="Elsewhere", prefix="E-")
    group.test(0, "2020-03-01", "5.1", "high")
    page = planner.get("/groups/")
    (row,) = page.context["table"].data.data.every
    assert (row.group, row.summary.called, row.summary.late) == ("Main steam", 2, 2)
    assert "Elsewhere" not in text(page) and "3 tested of 2 needed" in text(page)
    (said,) = rows(planner, "/groups/?export=csv")
    assert list(said) == list(GROUP_COLUMNS)
    assert (said["members"], said["needed_in_window"], said["tested_in_window"]) == ("6", "2", "3")
    assert (said["next_due_on"], said["next_tags"]) == ("2020-03-01", "MS-002;MS-003")


def test_one_name_under_two_activities_is_two_groups(planner, group):
    rule = group.owed[0].rule
    looked = factories.ObligationFactory(
        position=group.places[0], activity="visual", rule=rule, group="Main steam"
    )
    ledger.replay_positions([group.places[0].pk], at=NOON)
    assert len(planner.get("/groups/").context["table"].data) == 2
    assert planner.get(f"/groups/{looked.pk}/").context["said"].undated == 1


def test_lines_and_positions_lead_to_their_group(planner, group):
    link = f'href="/groups/{group.owed[0].pk}/"'
    assert link in text(planner.get("/due/"))
    assert link in text(planner.get(f"/positions/{group.places[0].pk}/"))
    plant.owed(plant.position(group.places[0].unit, "LONE"))
    assert "LONE" in text(planner.get("/due/"))
    page = text(planner.get(f"/due/?group={group.owed[0].pk}"))
    assert "LONE" not in page and "MS-006" in page


@pytest.mark.parametrize("size", [5, 50])
def test_a_page_of_many_costs_no_more_queries(planner, unit, size, django_assert_max_num_queries):
    """Session, user, roles; the obligation; who is sampled with it and twelve look-ups of facts;
    the due lines and nine look-ups of them; devices of failures, and who left."""
    days = [f"20{16 + n // 12}-{n % 12 + 1:02}-03" for n in range(size)]
    group = sampled(days, unit=unit)
    group.test(0, "2020-05-01", "5", "high")
    leave(group, size - 1)
    with django_assert_max_num_queries(40):
        page = planner.get(address(group))
    assert page.context["said"].members == size - 1
    assert bool(page.context["lanes"]) is (size == 5)


def test_the_list_of_many_groups_costs_what_that_of_three_does(
    planner, unit, django_assert_max_num_queries, django_assert_num_queries
):
    rule = factories.SampleRuleFactory()
    make = lambda n: sampled(("2019-01-01", "2019-03-01"), unit=unit, rule=rule,  # noqa: E731
                             group=f"G{n}", prefix=f"P{n}-")  # fmt: skip
    for n in range(3):
        make(n)
    with django_assert_max_num_queries(8) as few:
        planner.get("/groups/")
    for n in range(3, 30):
        make(n)
    with django_assert_num_queries(len(few.captured_queries)):
        assert len(planner.get("/groups/").context["table"].data) == 30
