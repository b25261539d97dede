"""The lean body of every list: head, rows and pages of a django-tables2 table, as text at once.

What is the same for a whole column (its cell's opening tag) is made once, not once a row: attrs of
a column may not be callables here. A table may define `header_<column>()` to draw a head.
"""

from django import template
from django.core.paginator import Paginator
from django.http import HttpRequest
from django.utils.html import conditional_escape, format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django_tables2 import Table
from django_tables2.columns import BoundColumn
from django_tables2.utils import AttributeDict

register = template.Library()


@register.simple_tag(takes_context=True)
def table_head(context: template.Context, table: Table) -> SafeString:
    """The head cells: sort links that keep the filter, and `aria-sort` on the sorted one."""
    request = context["request"]
    cells = "".join(_head_cell(request, table, column) for column in table.columns)
    return mark_safe(f"<tr>{cells}</tr>")


@register.simple_tag
def table_body(table: Table) -> SafeString:
    """Every row of this page; a cell carries its column's words for the narrow layout."""
    openings = [(column.name, _opening(table, column)) for column in table.columns]
    rows = []
    for row in table.paginated_rows:
        cells = (f"{opening}{conditional_escape(row.get_cell(name))}" for name, opening in openings)
        rows.append(f"<tr>{'</td>'.join(cells)}</td></tr>\n")
    return mark_safe("".join(rows))


@register.simple_tag(takes_context=True)
def page_links(context: template.Context, table: Table) -> SafeString:
    """Page numbers around this one, as links that keep filter and sort."""
    request, field = context["request"], table.prefixed_page_field
    numbers = table.paginator.get_elided_page_range(table.page.number, on_each_side=1, on_ends=1)
    return format_html_join(
        "\n", "{}", ((_page_link(request, field, n, table.page.number),) for n in numbers)
    )


def _page_link(request: HttpRequest, field: str, number: int | str, here: int) -> SafeString:
    if number == Paginator.ELLIPSIS:
        return format_html("<span>{}</span>", number)
    if number == here:
        return format_html('<span aria-current="page">{}</span>', number)
    return format_html('<a href="{}">{}</a>', address_with(request, {field: number}), number)


def _head_cell(request: HttpRequest, table: Table, column: BoundColumn) -> str:
    attrs = AttributeDict({**column.attrs["th"], "scope": "col"})
    drawn = getattr(table, f"header_{column.name}", None)
    words = drawn() if drawn else conditional_escape(column.header)
    if column.orderable:
        alias = column.order_by_alias
        if column.is_ordered:
            attrs["aria-sort"] = "descending" if alias.is_descending else "ascending"
        changes = {table.prefixed_order_by_field: alias.next, table.prefixed_page_field: None}
        words = format_html('<a href="{}">{}</a>', address_with(request, changes), words)
    return f"<th {attrs.as_html()}>{words}</th>"


def _opening(table: Table, column: BoundColumn) -> str:
    attrs = AttributeDict(column.attrs["td"])
    if not hasattr(table, f"header_{column.name}"):
        attrs["data-label"] = column.header
    return f"<td {attrs.as_html()}>"


def address_with(request: HttpRequest, changes: dict[str, object | None]) -> str:
    """This page's query string with some parameters set, or dropped where the value is None."""
    query = request.GET.copy()
    for key, value in changes.items():
        if value is None:
            query.pop(key, None)
        else:
            query[key] = str(value)
    return f"?{query.urlencode()}"
