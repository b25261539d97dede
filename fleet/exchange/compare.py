"""Is what the sheet says what the register holds? Loading twice must change nothing."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.db import models

from fleet.calc.units import Quantity, UnitsError
from fleet.exchange.sheets import Row

NOTHING = (None, "")


def same(one: Any, other: Any) -> bool:
    """Equal in value; None and empty text are both nothing; quantities may differ in words."""
    if one in NOTHING or other in NOTHING:
        return one in NOTHING and other in NOTHING
    if isinstance(one, Quantity) and isinstance(other, Quantity):
        try:
            return one == other
        except UnitsError:
            return False
    if isinstance(one, models.Model):
        return one.pk == other.pk
    return one == other


def changed(row: Row, stored: models.Model, fields: Iterable[str]) -> list[str]:
    """Names of plain columns that are given and differ from what is stored.

    A column carries the name of its field; a date is compared with `<name>` alone.
    """
    return [
        name
        for name in fields
        if row.given(name) and not same(value_of(row, name, stored), getattr(stored, name))
    ]


def value_of(row: Row, name: str, stored: models.Model) -> Any:
    """What the field is to hold: the value given, or what the field holds when it is cleared."""
    value = row[name]
    field = stored._meta.get_field(name)
    if value is None:
        return None if field.null else field.get_default()  # type: ignore[union-attr]
    if isinstance(field, models.DateField):
        return row.on(name)
    return value


def shown(value: Any) -> str:
    """A stored value as a cell: empty for none, decimals without idle zeros."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return value.isoformat() if hasattr(value, "isoformat") else str(value)
