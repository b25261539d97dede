"""Names of settings. Which way a ring works: a valve handbook and makers' manuals, as published."""

import pytest

from inspections.calc.naming import (
    EFFECTS,
    checked_by,
    checks,
    slug_of,
    synonyms_of,
    why_not_a_name,
    why_not_beside,
)


@pytest.mark.parametrize("bare", ["adjusting ring", "Blowdown_Ring", "ring"])
def test_a_bare_ring_is_never_a_name(bare):
    assert why_not_a_name(slug_of(bare)).startswith("a plain word such as lower_ring")


@pytest.mark.parametrize("name", ["lower ring", "compression screw", "Lever play", "bellows gap"])
def test_a_plain_word_is(name):
    assert why_not_a_name(slug_of(name)) == ""


def test_one_ring_or_two():
    assert why_not_beside("single_ring", ["upper_ring"]).startswith("one ring or two")
    assert why_not_beside("lower_ring", ["single_ring"]).startswith("one ring or two")
    assert why_not_beside("upper_ring", ["lower_ring", "compression_screw"]) == ""


def test_each_ring_is_worded_by_its_own_name_and_a_lone_one_not_at_all():
    assert EFFECTS == {
        "lower_ring": "Raising the lower ring lengthens blowdown and cuts simmer.",
        "upper_ring": "Raising the upper ring shortens blowdown.",
    }


def test_a_height_checks_what_it_is_named_after():
    assert checks(checked_by("compression_screw")) == "compression_screw"
    assert checks("lower_ring") == ""


def test_synonyms_are_read_as_they_are_typed():
    assert synonyms_of("Warn Ring; nozzle_ring ;") == ["warn ring", "nozzle ring"]
