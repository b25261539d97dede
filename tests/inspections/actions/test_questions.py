"""What a record does not explain becomes a question that a named person answers."""

from datetime import date

import pytest

from fleet.faults import Refused
from inspections.actions.answer import answer
from inspections.models import Inspection, Question
from tests import factories
from tests.inspections.shop import AT, Shop, quantity

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return Shop()


def asked(record):
    return sorted(record.questions.values_list("code", "field"))


def test_a_plain_record_asks_nothing(shop):
    assert asked(shop.finish(shop.open(), tag_typed="PSV-1")) == []


def test_a_tag_where_the_device_has_not_been_is_asked_about(shop):
    shop.position("PSV-7")
    record = shop.finish(shop.open(), tag_typed="PSV-7")
    assert asked(record) == [("device_not_at_tag", "tag")]
    [question] = record.questions.all()
    assert question.typed == "PSV-7" and "PSV-1" in question.text
    assert (question.site, question.device, question.recorded_by) == (
        shop.site,
        shop.device,
        shop.second,
    )


def test_a_tag_it_left_before_its_last_record_is_asked_about_too(shop):
    """“In the preceding cycle”: since the record before this one."""
    shop.finish(shop.open(day=date(2022, 5, 1)))
    shop.remove(shop.device.installations.get(), date(2022, 6, 1))
    shop.fit(shop.device, shop.position("PSV-7"), date(2022, 7, 1))
    shop.finish(shop.open(day=date(2023, 5, 1)))
    assert asked(shop.finish(shop.open(), tag_typed="PSV-7")) == []
    assert ("device_not_at_tag", "tag") in asked(
        shop.finish(shop.open(day=date(2024, 5, 25)), tag_typed="PSV-1")
    )


def test_a_required_setting_nobody_wrote_down_is_asked_about(shop):
    """As an old sheet brings it; the bench would not let it be signed."""
    shop.point(setting="lower_ring")
    shop.point(setting="upper_ring", required=False)
    read = {("lower_ring", stage): "5 notches" for stage in ("as_found", "as_left")}
    job = shop.popped(shop.open("overhaul"), settings=read)
    job.settings.filter(stage="as_found").delete()
    Inspection.objects.filter(pk=job.pk).update(done_by=shop.mechanic, signed_at=AT)
    shop.verify(job)
    assert asked(job) == [("settings_absent", "lower_ring as_found")]


def test_a_setting_said_to_be_missing_is_not_absent(shop):
    shop.point(setting="lower_ring")
    read = {"value": "5 notches", "datum": "seat"}
    job = shop.open("overhaul")
    shop.save(job, settings={("lower_ring", "as_found"): {"missing_reason": "corroded away"}})
    shop.popped(job, settings={("lower_ring", "as_left"): read})
    shop.sign(job)
    shop.verify(job)
    assert asked(job) == []


def test_a_test_that_strips_nothing_needs_no_settings(shop):
    shop.point(setting="lower_ring")
    assert asked(shop.finish(shop.open("bench_test"))) == []


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("-4.43", None),  # LER 388/2009-001, valve ..0085: 1123 of 1175 psig
        ("-4.42 %", "deviation_mismatch"),  # what that report prints: truncated
        ("-4.4", None),
        ("-4", None),
        ("4.43", "deviation_mismatch"),
        ("about 4", "deviation_unreadable"),
    ],
)
def test_a_typed_percentage_is_held_against_its_pressures(shop, typed, code):
    job = shop.open()
    own = {"cold_test_pressure": "1175 psig", "typed_deviation": typed}
    record = shop.finish(job, found="1123 psig", left="1175 psig", **own)
    codes = [c for c, _ in asked(record) if c.startswith("deviation")]
    assert codes == ([code] if code else [])


@pytest.mark.parametrize(
    ("columns", "words"),
    [
        ({"gauge_range": "0 to 150 psig"}, "151 psig lies outside"),
        ({"gauge_due_on": date(2024, 5, 19)}, "calibration ran out on 2024-05-19"),
        ({"gauge_accuracy": "1.2 psig"}, "worse than a quarter"),  # of 4.5 psig
        ({"gauge_range": "wide"}, "expected a range"),
    ],
)
def test_a_gauge_unfit_for_the_reading_is_asked_about(shop, columns, words):
    """Inside the calibrated range, in date, no worse than a quarter of the tolerance."""
    record = shop.finish(shop.open(), gauge="G-7", **columns)
    assert any(words in question.text for question in record.questions.all())


@pytest.mark.parametrize(
    "columns",
    [
        {"gauge_range": "0 to 300 psig"},
        {"gauge_due_on": date(2024, 5, 20)},  # its last good day
        {"gauge_accuracy": "1.125 psig"},  # exactly a quarter of 4.5
        {},
    ],
)
def test_a_fit_gauge_and_one_not_written_down_are_not(shop, columns):
    assert asked(shop.finish(shop.open(), gauge="G-7", **columns)) == []


def test_a_pressure_that_does_not_say_gauge_or_absolute_is_asked_about_once(shop):
    record = shop.finish(shop.open(), found="151 psi", left="150 psi")
    assert asked(record) == [("assumed_gauge", "as_left_pop"), ("assumed_gauge", "first_pop")]


@pytest.mark.parametrize(
    ("caps", "method", "words"),
    [
        ({"cap_owner": "150 psig", "cap_rig": "160 psig"}, "bench", "the owner's limit"),
        ({"cap_rig": "150 psig"}, "bench", "the rig's rating"),
        ({"cap_equipment": "150 psig"}, "in_place_pressure", "what the protected equipment allows"),
        ({"cap_equipment": "150 psig"}, "bench", ""),  # it protects nothing while it is off
        ({"cap_owner": "151 psig"}, "bench", ""),
        ({}, "bench", ""),
    ],
)
def test_a_pop_above_its_cap_is_asked_about(shop, caps, method, words):
    """In place the cap is the lowest of owner's limit, rig rating and what the equipment allows;
    with none entered there is no number (API RP 576 6.2.9, and common practice)."""
    columns = {name: quantity(typed) for name, typed in caps.items()}
    record = shop.finish(shop.open(), method=method, **columns)
    assert asked(record) == ([("above_cap", "as_found 1")] if words else [])
    for question in record.questions.all():
        assert question.typed == "151 psig"
        assert question.text.startswith(f"151 psig is 1 psig above the cap of 150 psig, {words}")


def test_each_pop_above_its_cap_is_asked_about_and_a_vacuum_is_not(shop):
    job = shop.open()
    shop.save(job, pops={("as_found", 2): "156 psig", ("vac_found", 1): "170 psig"})
    record = shop.finish(job, found="157 psig", cap_rig=quantity("155 psig"))
    assert asked(record) == [("above_cap", "as_found 1"), ("above_cap", "as_found 2")]


def test_a_cold_test_pressure_that_its_duty_does_not_give_is_asked_about(shop):
    own = {"cold_test_pressure": "140 psig", "found": "140 psig", "left": "140 psig"}
    assert asked(shop.finish(shop.open(), **own)) == [("cold_test_mismatch", "cold_test_pressure")]


def test_an_answer_is_given_once_by_name(shop):
    question = factories.QuestionFactory(answered_at=None)
    done = answer(question, " the sheet was for PSV-3 ", by=shop.second, at=AT)
    assert (done.answer, done.answered_by) == ("the sheet was for PSV-3", shop.second)
    with pytest.raises(Refused, match="answered already"):
        answer(question, "another", by=shop.second, at=AT)
    assert Question.objects.get().answer == "the sheet was for PSV-3"


def test_an_empty_answer_answers_nothing(shop):
    question = factories.QuestionFactory()
    with pytest.raises(Refused):
        answer(question, "  ", by=shop.second, at=AT)
    assert Question.objects.get().answered_at is None
