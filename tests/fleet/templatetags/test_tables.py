"""The lean list: sort links keep the filter, rows are escaped, pages are counted."""

import re

import django_tables2 as tables
import pytest
from django.test import RequestFactory
from django.utils.safestring import mark_safe


class Plain(tables.Table):
    tag = tables.Column("Position", attrs={"cell": {"class": "key"}})
    due = tables.Column("Due", attrs={"cell": {"class": "n"}})
    line = tables.Column("Line", orderable=False, empty_values=())

    class Meta:
        template_name = "components/table.html"
        order_by = "due"
        empty_text = "Nobody owes anything."

    def header_line(self):
        return mark_safe("<svg></svg>")

    def render_line(self):
        return mark_safe("<svg></svg>")


ROWS = [{"tag": f"PSV-{n:03}", "due": n} for n in range(120)]


def page(rows, query="", per_page=50):
    request = RequestFactory().get(f"/due/{query}")
    table = Plain(rows)
    tables.RequestConfig(request, paginate={"per_page": per_page}).configure(table)
    return table.as_html(request)


def test_sort_links_keep_the_filter_and_go_back_to_the_first_page():
    html = page(ROWS, "?unit=A%26B&page=2")
    assert '<a href="?unit=A%26B&amp;sort=tag">Position</a>' in html
    assert '<a href="?unit=A%26B&amp;sort=-due">Due</a>' in html


@pytest.mark.parametrize("query, said", [("", "ascending"), ("?sort=-due", "descending")])
def test_only_the_sorted_column_says_its_direction(query, said):
    html = page(ROWS, query)
    assert re.findall(r'<th [^>]*aria-sort="(\w+)"', html) == [said]


def test_a_column_that_cannot_be_sorted_has_no_link_and_may_draw_its_head():
    html = page(ROWS)
    head = html[html.index("<thead") : html.index("</thead>")]
    assert head.count("<a ") == 2
    assert re.search(r"<th [^>]*><svg></svg></th>", head)


def test_cells_carry_their_column_for_the_narrow_layout():
    html = page(ROWS[:1])
    assert '<td class="key" data-label="Position">PSV-000</td>' in html
    assert '<td class="n" data-label="Due">' in html


def test_hostile_text_stays_text():
    html = page([{"tag": "<script>alert(1)</script>", "due": '"><b>'}])
    assert "<script" not in html and "<b>" not in html.replace("of <b>", "")
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in html


def test_pages_say_where_they_are_and_keep_the_sort():
    html = page(ROWS, "?sort=tag&page=2")
    assert "51 to 100 of <b>120</b>" in html
    assert '<span aria-current="page">2</span>' in html
    assert '<a href="?sort=tag&amp;page=3">3</a>' in html
    assert html.count("<tr>") == 51


def test_one_page_has_a_count_and_no_links():
    html = page(ROWS[:3])
    assert "1 to 3 of <b>3</b>" in html
    assert "aria-current" not in html


def test_an_empty_list_says_so():
    assert "Nobody owes anything." in page([])
