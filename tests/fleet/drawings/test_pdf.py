"""The paper drawer knows every word of css a scene may use, and draws where the SVG does."""

from datetime import date
from io import BytesIO

import pytest
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from fleet.drawings.axis import TimeAxis, axis_head
from fleet.drawings.inks import INK
from fleet.drawings.interval_line import OutageSpan, interval_line
from fleet.drawings.pdf import draw_pdf
from fleet.drawings.scene import Circle, Line, Scene

TODAY = date(2026, 10, 31)
AXIS = TimeAxis.around(TODAY)


def page_of(scene):
    buffer = BytesIO()
    canvas = Canvas(buffer, pageCompression=0, invariant=1)
    height = draw_pdf(canvas, scene, 50, 700, 400)
    canvas.save()
    return height, buffer.getvalue()


@pytest.mark.parametrize("state", ["overdue", "due_soon", "compliant", "overdue_deferred"])
@pytest.mark.parametrize("due_on", [date(2026, 5, 1), date(2040, 1, 1), date(2010, 1, 1), None])
def test_every_interval_line_can_be_printed(state, due_on):
    outages = [OutageSpan(date(2027, 3, 1), date(2027, 3, 20), "Spring 2027")]
    last, deferred = date(2026, 1, 1), date(2027, 1, 1)
    height, data = page_of(interval_line(AXIS, last, due_on, TODAY, outages, deferred, state))
    assert height == 48  # 64 px at 96 to the inch are 48 pt
    assert data.startswith(b"%PDF")


def test_the_head_prints_its_years_as_text():
    _, data = page_of(axis_head(AXIS, TODAY))
    text = PdfReader(BytesIO(data)).pages[0].extract_text()
    assert "2027" in text and "today" in text


def test_a_place_on_paper_is_the_same_share_of_the_width():
    _, data = page_of(Scene("", 40, (Line(25, 10, 75, 10, "wait"),)))
    assert b"150 692.5 m 350 692.5 l" in data  # 50 + 25 % and 75 % of 400; 700 - 10 px


def test_the_same_scene_gives_the_same_bytes():
    scene = axis_head(AXIS, TODAY)
    assert page_of(scene) == page_of(scene)


def test_an_unknown_word_of_css_is_not_drawn_in_a_guessed_colour():
    with pytest.raises(KeyError):
        page_of(Scene("", 10, (Circle(1, 1, 1, "nonsense"),)))


def test_ink_names_colours_only():
    for ink in INK.values():
        assert all(not colour or colour.startswith("#") for colour in (ink.stroke, ink.fill))
