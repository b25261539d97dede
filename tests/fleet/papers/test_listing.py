"""A list on paper: the same bytes each time, nothing lost, marks that the font must have."""

import io

from pypdf import PdfReader

from fleet.papers.listing import Column, Heading, Words, listing_pdf

HEADING = Heading("A list", ["of things"], "A list, running", [("2", "overdue")])
COLUMNS = (Column("What", 200), Column("Why", 580))


def rows(count, words="because"):
    return [([Words(f"tag {n}", is_bold=True)], [Words(words)]) for n in range(count)]


def read(pdf):
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]


def test_the_same_content_gives_the_same_bytes():
    assert listing_pdf(HEADING, COLUMNS, rows(60)) == listing_pdf(HEADING, COLUMNS, rows(60))


def test_every_sheet_has_its_head_its_foot_and_its_number():
    sheets = read(listing_pdf(HEADING, COLUMNS, rows(100)))
    assert len(sheets) > 1
    for number, said in enumerate(sheets, 1):
        assert "What" in said and "A list, running" in said
        assert f"{number} of {len(sheets)}" in said
    assert all(f"tag {n}\n" in "\n".join(sheets) + "\n" for n in range(100))


def test_a_list_of_nothing_is_one_sheet():
    assert len(read(listing_pdf(HEADING, COLUMNS, []))) == 1


def test_a_row_longer_than_a_sheet_goes_on_and_loses_nothing():
    words = " ".join(f"w{n}" for n in range(6000))
    said = " ".join(" ".join(read(listing_pdf(HEADING, COLUMNS, rows(1, words)))).split())
    assert all(f"w{n}" in said for n in range(6000))


def test_a_word_longer_than_its_cell_is_broken_and_loses_nothing():
    said = "".join(read(listing_pdf(HEADING, COLUMNS, rows(1, "x" * 900)))).replace("\n", "")
    assert "x" * 900 in said


def test_fractions_arrows_and_shapes_are_in_the_embedded_font():
    marks = "5/16 1 3/8 ½ ⅞ → − ▲ △ ◇ ○ □ ✕"
    pdf = listing_pdf(HEADING, COLUMNS, rows(1, marks))
    assert all(mark in read(pdf)[0] for mark in marks.split())
    fonts = PdfReader(io.BytesIO(pdf)).pages[0]["/Resources"]["/Font"]
    names = {fonts[key].get_object()["/BaseFont"] for key in fonts}
    assert any("DejaVuSans-Bold" in name for name in names)
