"""Settings as they are left: what moved the datum, second initials, two methods of one setting."""

from datetime import date

import pytest

from fleet.faults import Refused
from inspections.actions.gates import before_signing
from inspections.actions.records import records_of
from inspections.actions.seconding import initials, unseconded
from inspections.actions.targets import targets_of
from inspections.models import Inspection, Question
from tests.inspections.shop import SCREW, Shop

pytestmark = pytest.mark.django_db
RING, LAPPED = "lower_ring", {"datum": "lip of the nozzle", "datum_reason": "machining"}


@pytest.fixture
def shop():
    shop = Shop()
    shop.point()
    shop.mechanic.name = "Ana Brandt"
    shop.mechanic.save()
    shop.finish(shop.open("overhaul", day=date(2022, 5, 1)), settings=read("5 notches"))
    return shop


def read(left, **columns):
    if columns:
        left = {"value": left, "datum": "ring touching the disc holder"} | columns
    return {(RING, "as_found"): "5 notches", (RING, "as_left"): left}


def record_of(job):
    [record] = records_of([Inspection.objects.get(pk=job.pk)])
    return record


def faults(job):
    return [fault.expected for fault in before_signing(record_of(job), targets_of(job))]


# The datum


def test_a_datum_that_moved_is_explained_by_what_moved_it(shop):
    job = shop.popped(shop.open("overhaul"), settings=read("2 notches", datum="lip of the nozzle"))
    assert len(faults(job)) == 1
    shop.save(job, settings=read("2 notches", **LAPPED))
    assert faults(job) == []


def test_the_reason_of_the_datum_does_not_excuse_the_same_datum(shop):
    job = shop.popped(shop.open("overhaul"), settings=read("2 notches", datum_reason="lapping"))
    assert len(faults(job)) == 1


def test_the_next_job_is_told_when_and_by_what_the_datum_moved(shop):
    moved = shop.open("overhaul", day=date(2023, 5, 1))
    shop.finish(moved, settings=read("2 notches", **LAPPED))
    [target] = targets_of(shop.open("overhaul"))
    assert target.compared(target.value, target.value_datum).words == "equal"
    assert target.compared(target.value, "").words.startswith(
        "not comparable: datum changed on 2023-05-01 by machining: was lip of the nozzle"
    )


# Second initials


@pytest.mark.parametrize("typed", ["AB", "a.b.", "A B", "ana brandt"])
def test_the_signers_own_initials_are_not_a_second_person(shop, typed):
    job = shop.popped(shop.open("overhaul"), settings=read("5 notches", seconded_by=typed))
    with pytest.raises(Refused, match="another person's initials"):
        shop.sign(job)


def test_another_persons_initials_are_kept(shop):
    job = shop.popped(shop.open("overhaul"), settings=read("5 notches", seconded_by="CD"))
    shop.sign(job)
    assert job.settings.get(stage="as_left").seconded_by == "CD"


def test_none_is_a_warning_for_what_the_model_requires_and_stops_nobody(shop):
    job = shop.popped(shop.open("overhaul"), settings=read("5 notches"))
    assert unseconded(record_of(job), targets_of(job)) == ["lower ring"]
    shop.sign(job)


def test_initials_of_a_name():
    assert initials("Ana-Maria  Brandt") == "amb"


# Two methods


def screwed(shop, height):
    """2 turns in on 8 threads/in: 1/4 in further in (thread arithmetic)."""
    shop.point(**SCREW, datum="first thread", required=False, lead="1/8 in")
    shop.point(
        setting="compression_screw_height",
        measure="length",
        positive="out",
        datum="top of the bonnet",
        required=False,
    )
    turns = {
        ("compression_screw", "as_found"): "10 turns",
        ("compression_screw", "as_left"): "12 turns",
    }
    heights = {
        ("compression_screw_height", "as_found"): "2 in",
        ("compression_screw_height", "as_left"): height,
    }
    job = shop.open("overhaul")
    return shop.finish(job, settings=read("5 notches") | turns | heights)


def test_turns_and_a_height_that_agree_ask_nothing(shop):
    screwed(shop, "1 3/4 in")
    assert not Question.objects.filter(code="methods_disagree").exists()


def test_turns_and_a_height_that_do_not_open_a_question_and_correct_nothing(shop):
    job = screwed(shop, "1 1/2 in")
    question = Question.objects.get(code="methods_disagree")
    assert (question.field, question.typed) == ("compression_screw", "12 turns")
    assert "should change the height by -1/4 in, but it changed by -1/2 in" in question.text
    kept = job.settings.filter(stage="as_left").values_list("setting", "value")
    values = {name: str(value) for name, value in kept}
    assert values["compression_screw"] == "12 turns"
    assert values["compression_screw_height"] == "1 1/2 in"
