"""A drawing in a file of its own is XML that a reader of SVG takes as it is: SVG 2, 5.8 (title and
desc), 6.3 (presentation attributes); WAI-ARIA Graphics for role and labels, from memory."""

from datetime import date
from xml.etree import ElementTree

from fleet.drawings.axis import TimeAxis, axis_head
from fleet.drawings.inks import INK
from fleet.drawings.scene import Circle, Line, Link, Scene, Text, arrow_up, triangle
from fleet.drawings.standalone import CHARACTERS, Part, inked, standalone
from fleet.drawings.svg import render

SVG = "{http://www.w3.org/2000/svg}"
TODAY = date(2026, 10, 31)
HEAD = axis_head(TimeAxis.around(TODAY), TODAY)
GEOMETRY = ("x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "d", "dx", "text-anchor")


def file_of(*marks, title="Settings history of D-1", lines=("As of today.",)):
    scene = Scene("Lower ring, 3 readings", 124, marks)
    return standalone(title, lines, [Part("Lower ring", "notches", scene), Part("", "", HEAD)])


def all_words():
    """A shape and a text for every word of css there is."""
    for css in INK:
        yield from (Circle(5, 5, 3, css), triangle(5, 5, css), arrow_up(5, 5, css))
        yield from (Line(1, 1, 2, 2, css), Text(1, 1, "words", css))


def test_it_is_labelled_for_who_cannot_see_it():
    root = ElementTree.fromstring(file_of())
    assert root.tag == f"{SVG}svg" and root.get("role") == "img"
    said = {node.get("id"): node.text for node in root if node.get("id")}
    assert root.get("aria-labelledby").split() == list(said)
    assert said["title"] == "Settings history of D-1"
    assert "Lower ring, 3 readings" in said["desc"] and "As of today." in said["desc"]


def test_nothing_of_the_site_is_needed_and_nothing_is_loaded_or_run():
    text = file_of(*all_words())
    for word in ("class=", "style", "href", "<a ", "<script", "<use", "url(", "<image"):
        assert word not in text, word
    assert text.count("http") == 1, "only the name of the language"


def test_every_mark_has_the_ink_of_its_word_and_the_place_it_has_on_the_page():
    scene = Scene("", 20, tuple(all_words()))
    page = list(ElementTree.fromstring(render(scene)).iter())
    alone = list(ElementTree.fromstring(inked(render(scene))).iter())
    assert len(page) == len(alone)
    for there, here in zip(page, alone, strict=True):
        assert there.tag == here.tag
        assert [there.get(key) for key in GEOMETRY] == [here.get(key) for key in GEOMETRY]
        if here.tag == "text":
            assert here.get("fill", "").startswith("#")
        elif here.tag != "svg":
            ink = INK[there.get("class")]
            is_open = here.tag == "path" and not here.get("d").endswith("z")
            assert here.get("stroke", "") == ink.stroke
            assert here.get("fill") == ("none" if is_open else ink.fill or "none")


def test_a_mark_says_its_reading_when_pointed_at_and_opens_nothing():
    mark = Link("", "as left 1 Mar 2016: 5 notches", (Circle(5, 5, 13, "hit"),))
    group = ElementTree.fromstring(file_of(mark)).find(f".//{SVG}g")
    assert group.find(f"{SVG}title").text == "as left 1 Mar 2016: 5 notches"
    assert group.find(f"{SVG}circle").get("pointer-events") == "all"


def test_what_was_typed_stays_words_whatever_it_is():
    typed = '<circle class="found"/> & "\x0b\x00\uffff'
    root = ElementTree.fromstring(file_of(Text(1, 1, typed, "cut"), title=typed, lines=[typed]))
    words = [node.text for node in root.iter(f"{SVG}text") if "circle" in (node.text or "")]
    assert len(words) == 3 and all('<circle class="found"/> & "' in word for word in words)


def test_long_words_go_on_beneath_and_the_file_is_as_high_as_what_stands_in_it():
    root = ElementTree.fromstring(file_of(lines=["word " * 100]))
    lines = [node for node in root.findall(f"{SVG}text") if node.text.startswith("word")]
    assert len(lines) > 1 and all(len(node.text) <= CHARACTERS for node in lines)
    last = root.findall(f"{SVG}svg")[-1]
    bottom = float(last.get("y")) + float(last.get("height"))
    assert bottom < float(root.get("height")) == float(root.get("viewBox").split()[3])


def test_the_same_scenes_give_the_same_text():
    assert file_of(*all_words()) == file_of(*all_words())
