"""A list as a page: sorted, cut into pages, and exported exactly as it is filtered.

A list page is a `Table` over `Loaded` rows: nothing is read but the page that is shown.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django_tables2 import RequestConfig, Table
from django_tables2.data import TableData

from fleet import exports

PER_PAGE = 50
EXPORTS = ("csv", "xlsx", "json")


class Loads(Protocol):
    """A report that answers a page of rows at a time."""

    def count(self) -> int: ...

    def rows(self, start: int, stop: int | None, sort: str) -> list: ...


@dataclass(frozen=True)
class InHand:
    """Rows already read, as a report; `keys` says what each sort goes by, empty values last."""

    every: Sequence[Any]
    keys: Mapping[str, Callable[[Any], Any]]

    def count(self) -> int:
        return len(self.every)

    def rows(self, start: int, stop: int | None, sort: str) -> list:
        return self.in_order(sort)[start:stop]

    def in_order(self, sort: str) -> list:
        key = self.keys[sort.lstrip("-")]
        known = [row for row in self.every if key(row) is not None]
        known.sort(key=key, reverse=sort.startswith("-"))
        return known + [row for row in self.every if key(row) is None]


class Loaded(TableData):
    """A report as the data of a table: it sorts and cuts itself, in the database.

    sorts: the column names it can sort by; anything else in the address is left out.
    """

    def __init__(self, report: Loads, sorts: Iterable[str], sort: str) -> None:
        super().__init__(report)
        self.sorts, self.sort = set(sorts), sort

    def __len__(self) -> int:
        if not hasattr(self, "_count"):
            self._count = self.data.count()
        return self._count

    def __getitem__(self, key: slice) -> list:
        return self.data.rows(key.start or 0, key.stop, self.sort)

    def __iter__(self):
        return iter(self.data.rows(0, None, self.sort))

    def order_by(self, aliases: Sequence[str]) -> None:
        wanted = [alias for alias in aliases if alias.lstrip("-") in self.sorts]
        self.sort = wanted[0] if wanted else self.sort


def paged(request: HttpRequest, table: Table, *, per_page: int = PER_PAGE) -> Table:
    """The table on the page and in the order its address asks for."""
    RequestConfig(request, paginate={"per_page": per_page}).configure(table)
    return table


def sort_asked(request: HttpRequest, sorts: Iterable[str], default: str) -> str:
    """The sort an address asks for, for an export in the same order."""
    asked = request.GET.get("sort", "")
    return asked if asked.lstrip("-") in set(sorts) else default


def export_asked(
    request: HttpRequest,
    name: str,
    columns: Sequence[str],
    rows: Callable[[], Iterable[Mapping[str, Any]]],
    summary: Callable[[], Mapping[str, Any]] = dict,
) -> HttpResponseBase | None:
    """The file `?export=csv|xlsx|json` asks for, or None. The filter stands in the same address."""
    kind = request.GET.get("export", "")
    if kind not in EXPORTS:
        return None
    return exports.download(kind, name, columns, rows(), summary())
