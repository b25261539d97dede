"""A site's own rules by form: added, and replaced from a day on with what moves shown first."""

from datetime import date

import pytest

from fleet import clock, ledger
from fleet.calc import library
from fleet.models import AuditEntry, IntervalRule, Obligation, ObligationSpan
from fleet.reports.proof import differences
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, text

pytestmark = pytest.mark.django_db
NEW = "/rules/new/"


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


@pytest.fixture
def engineer(unit):
    return signed_in("engineer", unit.site)


def filled(kind="max_gap", **changes):
    return {
        "kind": kind,
        "code": "site-steam-3y",
        "citation": "Procedure 12",
        "edition": "issue 4",
        "out_of_service": "stop",
        **({"gap": "P3Y"} if kind == "max_gap" else {}),
        **changes,
    }


def owed(unit, tag, last_on, rule):
    """A device tested on a day, owed under a rule: replayed as the product does it."""
    place = plant.position(unit, tag)
    device = plant.fitted(place)
    factories.ServiceEventFactory(device=device, activity="bench_test", done_on=last_on)
    row = factories.ObligationFactory(position=place, activity="bench_test", rule=rule)
    ledger_replay(place)
    return row


def ledger_replay(place):
    ledger.replay_positions([place.pk], at=clock.now())


OWN = [
    ("max_gap", {"gap": "P3Y", "ceiling": "P5Y"}, {"gap": "P3Y", "ceiling": "P5Y"}),
    (
        "calendar",
        {"times": "1", "unit": "year", "n": "1", "gap": "P15M"},
        {"times": 1, "unit": "year", "n": 1, "gap": "P15M"},
    ),
    (
        "calendar",
        {"times": "2", "unit": "year", "n": "1", "gap": "P7M15D"},
        {"times": 2, "unit": "year", "gap": "P7M15D"},
    ),
    (
        "rolling",
        {"count": "2", "window": "P5Y", "gap": "P3Y"},
        {"count": 2, "window": "P5Y", "gap": "P3Y"},
    ),
    ("capped", {"target": "P3M", "cap": "P120D"}, {"target": "P3M", "cap": "P120D"}),
    (
        "age_steps",
        {"steps": "P0D P4Y\nP12Y: P2Y\n\never P1Y"},
        {"steps": [["P0D", "P4Y"], ["P12Y", "P2Y"], [None, "P1Y"]]},
    ),
    ("usage", {"counter": "starts", "count": "500"}, {"counter": "starts", "count": 500}),
    (
        "after_event",
        {"kinds": ["release", "alteration"], "days": "0"},
        {"kinds": ["release", "alteration"], "days": 0},
    ),
    (
        "before_use",
        {"lead": "P30D", "window": "P1Y", "out_of_service": "test_before_return"},
        {"lead": "P30D", "window": "P1Y", "out_of_service": "test_before_return"},
    ),
    (
        "group_sample",
        {"fraction": "0.20", "window": "P24M", "gap": "P5Y", "expansion": "2", "band": "3 %"},
        {"fraction": "0.20", "window": "P24M", "gap": "P5Y", "expansion": 2, "band": "3 %"},
    ),
    ("by_history", {}, {}),
]


@pytest.mark.parametrize(("kind", "boxes", "parameters"), OWN)
def test_a_rule_of_every_kind_is_added(engineer, kind, boxes, parameters):
    sent = {**filled(kind), **boxes}
    response = engineer.post(NEW, sent)
    assert response.status_code == 302, response.context["form"].errors
    row = IntervalRule.objects.get()
    assert (row.kind, row.parameters, row.code) == (kind, parameters, "site-steam-3y")
    assert (row.citation, row.edition, row.is_verified) == ("Procedure 12", "issue 4", False)
    assert row.recorded_by == engineer.user
    assert AuditEntry.objects.get().aggregate == f"intervalrule:{row.pk}"
    assert not [d for d in differences() if "rule" in d.where]


def test_the_kind_is_asked_first(engineer):
    page = text(engineer.get(NEW))
    assert "?kind=rolling" in page and "two in any 5 years" in page
    assert engineer.post(NEW, {"kind": "whenever"}).status_code == 422


@pytest.mark.parametrize(
    ("changes", "box", "said"),
    [
        ({"gap": "3 years"}, "gap", "“3 years”: expected an ISO 8601 duration"),
        ({"gap": "P1Y6W"}, "gap", "“P1Y6W”: expected"),
        ({"gap": "P0D"}, "gap", "longer than nothing"),
        ({"ceiling": "P1Y"}, "ceiling", "no less than the rule&#x27;s own 3 years"),
        ({"out_of_service": "sleep"}, "out_of_service", "Select a valid choice"),
        ({"code": "Steam 3Y"}, "code", "letters, figures"),
        ({"code": "new"}, "code", "an address here"),
        ({"code": "us-49cfr192.739"}, "code", "an id that the library does not have"),
        ({"code": "taken"}, "code", "an id that is not in use"),
        ({"citation": ""}, "citation", "required"),
        ({"from_on": "soon"}, "from_on", "such as 2027-05-01"),
    ],
)
def test_what_is_wrong_is_said_at_its_box(engineer, changes, box, said):
    factories.IntervalRuleFactory(code="taken")
    response = engineer.post(NEW, filled(**changes))
    assert response.status_code == 422
    assert list(response.context["form"].errors) == [box] and said in text(response)
    assert IntervalRule.objects.count() == 1


def test_every_box_that_is_wrong_says_so_at_once(engineer):
    response = engineer.post(NEW, filled(code="A b", citation="", gap="3 years"))
    assert set(response.context["form"].errors) == {"code", "citation", "gap"}


@pytest.mark.parametrize(
    ("steps", "said"),
    [("P4Y", "an age and an interval"), ("P12Y P2Y", "only the last one null"), ("ever 1", "ISO")],
)
def test_steps_that_cannot_be_read_are_refused(engineer, steps, said):
    response = engineer.post(NEW, filled("age_steps", steps=steps))
    assert list(response.context["form"].errors) == ["steps"] and said in text(response)


def replaced(client, old, **changes):
    return client.post(
        f"/rules/{old.code}/replace/", filled(gap="P4Y", from_on="2027-01-01", **changes)
    )


def test_what_moves_is_shown_and_nothing_is_written(engineer, unit):
    old = factories.IntervalRuleFactory(code="own-5y")
    owed(unit, "PSV-1", date(2024, 3, 1), old)
    owed(unit, "PSV-2", date(2022, 3, 1), old)
    before = ObligationSpan.objects.count()
    response = replaced(engineer, old)
    seen = response.context["seen"]
    assert response.status_code == 200 and (seen.obligations, seen.positions) == (2, 2)
    moved = [(change.tag, change.now_on, change.then_on) for change in seen.changes]
    assert moved == [
        ("PSV-2", date(2027, 3, 1), date(2026, 3, 1)),
        ("PSV-1", date(2029, 3, 1), date(2028, 3, 1)),
    ]
    page = text(response)
    assert "365 days sooner" in page and "past already on that day" in page
    assert IntervalRule.objects.count() == 1 and ObligationSpan.objects.count() == before
    assert not AuditEntry.objects.exists()


def test_what_was_shown_is_what_then_happens(engineer, unit):
    old = factories.IntervalRuleFactory(code="own-5y")
    row = owed(unit, "PSV-1", date(2024, 3, 1), old)
    seen = replaced(engineer, old).context["seen"]
    response = replaced(engineer, old, seen=seen.digest)
    assert response.status_code == 302
    new = IntervalRule.objects.get(code="site-steam-3y")
    assert (new.replaces, new.from_on) == (old, date(2027, 1, 1))
    row.refresh_from_db()
    follower = Obligation.objects.get(rule=new)
    assert row.until_on == follower.from_on == date(2027, 1, 1)
    spans = ObligationSpan.objects.known().order_by("from_on")
    assert spans.filter(obligation=row).last().due_on == date(2029, 3, 1), "past days keep theirs"
    assert spans.get(obligation=follower).due_on == seen.changes[0].then_on == date(2028, 3, 1)
    assert list(AuditEntry.objects.filter(action="rule replaced").values_list("by", flat=True)) == [
        engineer.user.pk
    ]


def test_a_form_changed_after_looking_is_looked_at_again(engineer, unit):
    old = factories.IntervalRuleFactory(code="own-5y")
    owed(unit, "PSV-1", date(2024, 3, 1), old)
    seen = replaced(engineer, old).context["seen"]
    sent = filled(gap="P2Y", from_on="2027-01-01", seen=seen.digest)
    response = engineer.post("/rules/own-5y/replace/", sent)
    assert response.status_code == 200 and IntervalRule.objects.count() == 1
    assert response.context["seen"].changes[0].then_on == date(2026, 3, 1)


def test_another_position_in_the_meantime_is_shown_first(engineer, unit):
    old = factories.IntervalRuleFactory(code="own-5y")
    owed(unit, "PSV-1", date(2024, 3, 1), old)
    seen = replaced(engineer, old).context["seen"]
    owed(unit, "PSV-2", date(2024, 3, 1), old)
    assert replaced(engineer, old, seen=seen.digest).context["seen"].positions == 2


def test_a_rule_in_use_where_he_is_no_engineer_is_not_his_to_replace(engineer, unit):
    old = factories.IntervalRuleFactory(code="own-5y")
    owed(unit, "PSV-1", date(2024, 3, 1), old)
    owed(factories.UnitFactory(), "PSV-9", date(2024, 3, 1), old)
    response = replaced(engineer, old)
    page, seen = text(response), response.context["seen"]
    assert "you are no engineer" in page and "PSV-9" not in page
    replaced(engineer, old, seen=seen.digest)
    assert IntervalRule.objects.count() == 1


def test_what_stands_in_the_way_names_the_position(engineer, unit):
    old = factories.IntervalRuleFactory(code="own-5y")
    row = owed(unit, "PSV-1", date(2024, 3, 1), old)
    factories.IntervalDecisionFactory(
        obligation=row, interval="P5Y", from_on=date(2025, 1, 1), act_by=None
    )
    page = text(replaced(engineer, old))
    assert "PSV-1" in page and "no longer than the rule&#x27;s own 4 years" in page


def test_a_rule_is_replaced_once(engineer):
    old = factories.IntervalRuleFactory(code="own-5y")
    factories.IntervalRuleFactory(code="own-4y", replaces=old, from_on=date(2026, 1, 1))
    response = replaced(engineer, old)
    assert response.status_code == 422 and "own-4y replaces it from 2026-01-01" in text(response)
    assert "/replace/" not in text(engineer.get("/rules/own-5y/"))


def test_a_sampled_group_moves_whole(engineer, unit):
    """A fifth of five in any 24 months (ASME OM Code, Appendix I): the group answers together."""
    rule = factories.IntervalRuleFactory(
        code="own-group",
        kind="group_sample",
        parameters=dict(library.rules()["om-class1"].parameters),
    )
    places = [plant.position(unit, f"PSV-{n}") for n in range(3)]
    for number, place in enumerate(places):
        device = plant.fitted(place)
        factories.ServiceEventFactory(
            device=device, activity="bench_test", done_on=date(2024, 11 - number, 1)
        )
        factories.ObligationFactory(position=place, activity="bench_test", rule=rule, group="steam")
    for place in places:
        ledger_replay(place)
    sent = filled(
        "group_sample",
        **{"fraction": "0.20", "window": "P36M", "gap": "P5Y", "expansion": "2", "band": "3 %"},
        from_on="2027-01-01",
    )
    seen = engineer.post("/rules/own-group/replace/", sent).context["seen"]
    then = {change.tag: change.then_on for change in seen.changes}
    # the one longest untested is due when the newest test leaves the window: 2024-11-01 + 36 months
    assert then["PSV-2"] == date(2027, 11, 1)
    assert {change.tag: change.now_on for change in seen.changes}["PSV-2"] == date(2026, 11, 1)


def test_three_positions_and_thirty_cost_the_same(engineer, unit, django_assert_max_num_queries):
    old = factories.IntervalRuleFactory(code="own-5y")
    for number in range(3):
        owed(unit, f"PSV-{number}", date(2024, 3, 1), old)
    with django_assert_max_num_queries(32) as few:
        replaced(engineer, old)
    for number in range(3, 30):
        owed(unit, f"PSV-{number}", date(2024, 3, 1), old)
    with django_assert_max_num_queries(len(few.captured_queries)):
        assert len(replaced(engineer, old).context["seen"].changes) == 20
