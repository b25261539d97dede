"""Settings on the bench's pages: target and instruction, datum, second initials, two methods."""

from datetime import date

import pytest
from django.urls import reverse

from inspections.actions.points import set_up
from tests import factories
from tests.fleet.views.signed_in import words
from tests.inspections.shop import AT, SCREW
from tests.inspections.views.bench.pages import RING, fields_of, send, stored, url

pytestmark = pytest.mark.django_db
STOP, LIP = "ring touching the disc holder", "lip of the nozzle"


@pytest.fixture
def told(shop):
    return factories.InstructionFactory(
        device=shop.device, datum=STOP, recorded_by=shop.second, from_on=date(2023, 1, 1)
    )


def compare(client, job, setting=RING, **typed):
    typed = {name.replace("__", "-"): value for name, value in typed.items()}
    return words(client.get(reverse("bench_compare", args=[job.pk, setting]), typed))


# The target


def test_reassembly_shows_the_instruction_large_and_the_last_as_left_beside(mechanic, job, told):
    page = words(mechanic.get(url(job, "reassemble")))
    assert f"Instructed by {told.signed_by} from 1 Jan 2023: maker's manual, section 4." in page
    assert "Last left at 5 notches" in page
    assert "The instruction is +2 notches against that." in page
    assert "equal" in compare(mechanic, job, lower_ring="7")


def test_as_found_still_says_where_it_was_left(mechanic, job, told):
    assert "Left at 5 notches on 1 May 2022" in words(mechanic.get(url(job, "as_found")))


def test_the_record_says_which_target_it_was_held_to(shop, mechanic, job, told):
    left = {"value": "6 notches", "changed_reason": "ring at its stop", "datum": STOP}
    shop.finish(job, settings={(RING, "as_found"): "5 notches", (RING, "as_left"): left})
    page = words(mechanic.get(reverse("inspection", args=[job.pk])))
    assert "off by 1 notch (lower ring), below target" in page
    assert f"held to 7 notches from {STOP}, instructed by {told.signed_by}" in page
    assert "before, left at 5 notches on 1 May 2022" in page


def test_without_one_the_record_was_held_to_the_last_as_left(mechanic, locked):
    page = words(mechanic.get(reverse("inspection", args=[locked.pk])))
    assert "held to 5 notches, as left on 1 May 2022" in page


def test_each_ring_says_what_raising_it_does_by_its_own_name(shop, mechanic, job):
    """Valve handbook and makers' manuals, as published."""
    shop.point(setting="upper_ring", required=False)
    page = words(mechanic.get(url(job, "reassemble")))
    assert "Raising the lower ring lengthens blowdown and cuts simmer." in page
    assert "Raising the upper ring shortens blowdown." in page


def test_a_lone_ring_is_worded_by_its_maker_alone(shop, mechanic):
    shop.model.setting_points.update(setting="single_ring")
    new = factories.DeviceFactory(site=shop.site, model=shop.model)
    page = words(mechanic.get(url(shop.open("overhaul", device=new), "reassemble")))
    assert "Single ring" in page and "Raising" not in page


# As found first


def test_an_as_left_before_its_as_found_is_kept_and_told_at_the_field(mechanic, job):
    send(mechanic, job, "reassemble", lower_ring="5")
    assert job.settings.get().stage == "as_left"  # nothing typed is lost
    page = mechanic.get(url(job, "reassemble"))
    assert "How this was found is not written down" in words(page)
    assert (
        "lower ring as found" in words(mechanic.get(reverse("bench_sign", args=[job.pk]))).lower()
    )


# The datum


def test_another_datum_asks_what_moved_it_and_keeps_what_was_typed(mechanic, job):
    page = send(mechanic, job, "reassemble", follow=False, lower_ring="2", lower_ring__datum=LIP)
    assert page.status_code == 422
    assert list(page.context["form"].errors) == ["lower_ring-datum_reason"]
    assert fields_of(page)["lower_ring-datum"] == LIP
    send(mechanic, job, "reassemble", page=page, lower_ring__datum_reason="machining")
    kept = job.settings.get()
    assert (kept.datum, kept.datum_reason, kept.is_datum_typed) == (LIP, "machining", True)


def test_the_answer_tells_when_and_by_what_the_datum_moved(mechanic, job):
    found = compare(
        mechanic, job, lower_ring="2", lower_ring__datum=LIP, lower_ring__datum_reason="lapping"
    )
    assert found.startswith("not comparable: datum changed on 2024-05-20 by lapping: was ring")


def test_a_count_without_any_datum_is_refused_at_its_field(shop, mechanic):
    shop.model.setting_points.all().delete()
    factories.InstructionFactory(device=shop.device, setting="lever_play", datum="", value="1 in")
    job = shop.open("overhaul")
    page = send(mechanic, job, "as_found", follow=False, lever_play="1/16")
    assert page.status_code == 422
    assert "A count without its datum says nothing" in words(page)
    assert fields_of(page)["lever_play"] == "1/16"


def test_saving_again_after_the_model_s_datum_moved_keeps_the_datum_it_was_read_in(
    shop, mechanic, job
):
    send(mechanic, job, "as_found", lower_ring="5")
    point = shop.model.setting_points.get()
    point.datum = LIP
    set_up(point, by=shop.second, at=AT)
    page = mechanic.get(url(job, "as_found"))
    assert f"Counted from {STOP}" in words(page)
    send(mechanic, job, "as_found", page=page, lower_ring="6")
    kept = job.settings.get()
    assert (str(kept.value), kept.datum) == ("6 notches", STOP)


# Second initials


def test_second_initials_are_kept_and_missing_ones_only_said(shop, mechanic, job):
    shop.popped(job, settings={(RING, "as_found"): "5 notches"})
    send(mechanic, job, "reassemble", lower_ring="5")
    page = mechanic.get(reverse("bench_sign", args=[job.pk]))
    assert "No second initials: lower ring" in words(page) and "Sign as" in words(page)
    send(mechanic, job, "reassemble", lower_ring__seconded_by="Q. R.")
    assert "No second initials" not in words(mechanic.get(reverse("bench_sign", args=[job.pk])))
    assert job.settings.get(stage="as_left").seconded_by == "Q. R."


def test_ones_own_initials_are_refused_at_the_signature(shop, mechanic, job):
    shop.popped(job, settings={(RING, "as_found"): "5 notches"})
    send(mechanic, job, "reassemble", lower_ring="5", lower_ring__seconded_by=shop.mechanic.name)
    page = words(mechanic.get(reverse("bench_sign", args=[job.pk])))
    assert "another person's initials, not the signer's own" in page


# Two methods


def test_a_height_that_disagrees_with_the_turns_is_said_while_typing(shop, mechanic, job):
    """2 turns on 8 threads/in are 1/4 in (thread arithmetic)."""
    shop.point(**SCREW, datum="first thread", required=False, lead="1/8 in")
    height = {"setting": "compression_screw_height", "measure": "length", "positive": "out"}
    shop.point(**height, datum="bonnet", required=False)
    found = {"compression_screw": "10", "compression_screw_height": "2"}
    send(mechanic, job, "as_found", lower_ring="5", **found)
    typed = {"compression_screw": "12", "compression_screw_height": "1 1/2"}
    for setting in found:
        said = compare(mechanic, job, setting, **typed)
        assert "Two methods disagree: +2 turns should change the height by -1/4 in" in said
    typed["compression_screw_height"] = "1 3/4"
    assert "disagree" not in compare(mechanic, job, "compression_screw", **typed)
    send(mechanic, job, "reassemble", lower_ring="5", **(typed | {"compression_screw": "18"}))
    assert job.settings.filter(stage="as_left").count() == 3  # it never stops a save


def test_a_value_beyond_the_model_s_limit_is_said_with_its_source(shop, mechanic, job):
    shop.model.setting_points.update(limit_high="6 notches", source="manual 4.2")
    found = compare(mechanic, job, lower_ring="7")
    assert "Beyond what the model allows: over the limit of 6 notches (manual 4.2)." in found
    assert "Beyond" not in compare(mechanic, job, lower_ring="6")


@pytest.mark.parametrize("typed", ["5/0", "21 1/2/3", "150 psig", "3 m", "5 turns"])
def test_what_is_no_count_is_said_at_its_field(mechanic, job, typed):
    page = send(mechanic, job, "reassemble", follow=False, lower_ring=typed)
    assert page.status_code == 422 and list(page.context["form"].errors) == [RING]
    assert fields_of(page)[RING] == typed
    assert stored(job).version == job.version
