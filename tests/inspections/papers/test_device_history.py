"""The history of a device on sheets: the page's drawings, and every reading in words beneath.

Text is read back by pypdf; what is drawn is looked for in the pixels that PDFium gives.
"""

from datetime import UTC, date, datetime

import pypdfium2
import pytest

from fleet.drawings.inks import BLACK, INK
from fleet.drawings.scene import Line, Link, Rect
from fleet.papers.sheets import MARGIN, WIDE
from fleet.reports.due import DueList
from inspections.actions.acknowledge import fingerprint_of_fact
from inspections.papers import device_history
from inspections.reports.device import story_of
from tests import factories
from tests.factories import RECORDED_AT
from tests.fleet.reports.plant import TODAY
from tests.inspections.papers.reading import said, sheets_of
from tests.inspections.reports.records import yearly

pytestmark = pytest.mark.django_db
DOTS = 4  # pixels a point
MOVED = ({"rings": ("-7 notches", "-7 notches")},
         {"found": "160 psig", "rings": ("-7 notches", "-10 notches")},
         {"rings": (None, "-9 notches"), "datum": "bottom of its travel"})  # fmt: skip


@pytest.fixture
def engineer():
    return factories.MembershipFactory(role="engineer")


@pytest.fixture
def device(engineer):
    device = factories.DeviceFactory(number="D-1", serial="S<7>", site=engineer.site)
    place = factories.PositionFactory(tag="PSV-1", unit__site=engineer.site)
    factories.InstallationFactory(position=place, device=device, installed_on=date(2015, 4, 1))
    return device


def story(device, engineer):
    return story_of(device, DueList(TODAY, engineer.user))


def paper(device, engineer):
    return device_history.pdf(story(device, engineer))


def test_the_same_records_and_day_give_the_same_bytes(device, engineer):
    yearly(device, *MOVED)
    assert paper(device, engineer) == paper(device, engineer)


def test_it_says_what_the_device_is_where_it_served_and_every_reading(device, engineer):
    yearly(device, *MOVED)
    text = said(paper(device, engineer))
    for piece in (
        "Settings history of D-1", "As of 31 Oct 2026", "S<7>", "spring",
        "PSV-1", "1 Apr 2015", "still there",
        "Pop, and cold test pressure",
        "1 Mar 2016 R-2016 as found 160 psig", "+6.67 % of 150 psig", "high, outside the band",
        "145.5 psig to 154.5 psig", "on the bench",
        "−7 notches", "ring touching the disc holder", "−3 notches by the shop",
        "as found not recorded", "unchanged in service", "1 of ",
    ):  # fmt: skip
        assert piece in text, piece


def test_a_cut_says_in_words_why_nothing_is_subtracted(device, engineer):
    yearly(device, {"rings": ("5 notches", "5 notches")},
           {"rings": ("6 notches", "6 notches"), "datum": "bottom of its travel"})  # fmt: skip
    text = said(paper(device, engineer))
    assert "not compared: datum was ring" in text and "bottom of its travel" in text
    assert "datum changed" in text, "on the drawing too"


def test_a_change_of_method_is_said_in_words(device, engineer):
    yearly(device, {}, {"method": "in_place_assist"})
    text = said(paper(device, engineer))
    assert "not compared: method was on the bench, now in place, lift assisted" in text
    assert "in_place" not in text


def test_a_maker_finds_nothing_and_nothing_is_missed(device, engineer):
    yearly(device, {"method": "maker", "found": None})
    text = said(paper(device, engineer))
    assert "by the maker" in text and "as found" not in text.partition("Set pressure")[2]
    assert "not compared" not in text


def test_a_pop_that_did_not_lift_gives_a_bound_and_no_percent(device, engineer):
    yearly(device, {}, {"no_lift": "165 psig"})
    text = said(paper(device, engineer))
    assert "no lift at 165 psig" in text and "more than +10.00 % in service" in text


def test_each_flag_has_its_reasons_and_who_has_looked_at_it(device, engineer):
    yearly(device, {}, {"found": "160 psig"})
    before = said(paper(device, engineer))
    assert "Flagged: out of tolerance" in before
    assert "first pop 160 psig was high" in before and "Nobody has answered it yet." in before
    _answer(device, "out_of_tolerance", engineer.user)
    after = said(paper(device, engineer))
    assert f"Looked at by {engineer.user} on " in after and "spring was soft" in after


def _answer(device, code, user):
    row = next(row for row in story_of(device, DueList(TODAY, user)).rows if row.raised)
    flag = next(flag for flag in row.raised if flag.code == code)
    told = {"device": device, "setting": row.setting}
    factories.ScreeningFactory(made_at=datetime(TODAY.year, TODAY.month, TODAY.day, 12, tzinfo=UTC))
    answer = factories.AcknowledgementFactory(
        **told, code=code, note="spring was soft", recorded_by=user, recorded_at=RECORDED_AT
    )
    factories.FlagStateFactory(
        state=factories.SettingStateFactory(**told),
        code=code,
        reasons=list(flag.reasons),
        fingerprint=fingerprint_of_fact(code, flag.reasons),
        acknowledgement=answer,
    )


def test_the_drawing_stands_on_the_paper_where_its_scene_says(device, engineer):
    """The band is as wide as the sheet's column, and the mark of each reading is in it."""
    yearly(device, *MOVED)
    drawn = device_history.history_of(story(device, engineer)).panels[0].scene
    band = next(mark for mark in drawn.marks if type(mark) is Rect)
    assert any(type(mark) is Link for mark in drawn.marks)
    picture = picture_of(paper(device, engineer), 0)
    rows = {y for y in range(picture.height) if is_ink(picture, 50.0, y, INK["band"].fill)}
    tall = (max(rows) - min(rows)) / DOTS
    assert tall == pytest.approx(band.height * 0.75, abs=1.5)
    service = [m for m in drawn.marks if type(m) is Line and m.css == "service"]
    top = min(rows) / DOTS - band.y * 0.75
    for line in service:
        x, y = (line.x1 + line.x2) / 2, (line.y1 + line.y2) / 2
        assert any(
            is_ink(picture, x, int((top + y * 0.75) * DOTS) + off, BLACK, 90)
            for off in range(-6, 7)
        )


def picture_of(data, number):
    return pypdfium2.PdfDocument(data)[number].render(scale=DOTS).to_pil().convert("RGB")


def is_ink(picture, percent, y, ink, slack=6):
    x = int((MARGIN + percent / 100 * WIDE) * DOTS)
    wanted = tuple(int(ink[at : at + 2], 16) for at in (1, 3, 5))
    return all(abs(a - b) <= slack for a, b in zip(picture.getpixel((x, y)), wanted, strict=True))


def test_a_long_history_goes_on_under_its_heads_and_loses_nothing(device, engineer):
    yearly(device, *({"rings": ("5 notches", "5 notches")} for _ in range(45)), first=1980)
    pages = sheets_of(paper(device, engineer))
    assert len(pages) > 3 and all("Against the reading before" in page for page in pages[:4])
    text = " ".join(" ".join(pages).split())
    for year in range(1980, 2025):
        assert text.count(f"R-{year} as found") == 2, year
    assert pages[-1].strip().endswith(f"{len(pages)} of {len(pages)}")


def test_a_device_without_a_record_says_so(device, engineer):
    text = said(paper(device, engineer))
    assert "No record of this device is locked yet" in text and "PSV-1" in text
