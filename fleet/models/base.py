"""What every model shares: how it is kept, who may see it, and quantities as people typed them."""

from enum import StrEnum

from django.core.exceptions import ValidationError
from django.db import models

from fleet.calc.units import Quantity, UnitsError, parse_quantity


class Keeping(StrEnum):
    """How a table is kept: every model declares it, and `fleet.locks` lays it as triggers.

    Beside it a model may declare `closes` (groups of columns of a dated fact, each filled once),
    `locked_by` (the column that locks a record), `locked_with` (the parent whose lock locks it),
    `is_audited` (False for what the chain does not cover) and `audit_leaves_out`.
    """

    MUTABLE = "mutable"
    DATED_FACT = "dated fact"  # never updated, never deleted; some are closed once
    LOCKED = "locked"  # free until locked, then never again


class SiteQuerySet(models.QuerySet):
    """The only door to rows: `.visible_to(user)`. `site_path` leads from the row to its site."""

    def visible_to(self, user):
        path = self.model.site_path
        return self.filter(**{f"{path}__in": user.site_ids()})


class LooseQuerySet(SiteQuerySet):
    """For rows that may have no site yet, which whoever has any site sees."""

    def visible_to(self, user):
        path, ids = self.model.site_path, user.site_ids()
        held = models.Q(**{f"{path}__in": ids})
        return self.filter(held | models.Q(**{path: None}) if ids else held)


class QuantityField(models.CharField):
    """A number with its unit, stored exactly as typed; reads as a `Quantity`, empty as None.

    `dimensions`: the dimensions allowed, from `fleet.calc.units`.
    """

    _pyi_private_get_type: Quantity | None  # what the type checker reads
    _pyi_private_set_type: Quantity | str | None

    def __init__(self, *args, dimensions: tuple[str, ...] = (), **kwargs):
        self.dimensions = tuple(dimensions)
        kwargs.setdefault("max_length", 60)
        kwargs.setdefault("blank", True)
        kwargs.setdefault("default", None)
        kwargs["null"] = True
        super().__init__(*args, **kwargs)

    def deconstruct(self):
        name, path, args, kwargs = super().deconstruct()
        kwargs["dimensions"] = self.dimensions
        return name, path, args, kwargs

    def from_db_value(self, value, expression, connection):
        return None if value in (None, "") else parse_quantity(value, self.dimensions)

    def to_python(self, value):
        if value in (None, "") or isinstance(value, Quantity):
            return value or None
        try:
            return parse_quantity(str(value), self.dimensions)
        except UnitsError as error:
            raise ValidationError(f"“{error.typed}”: {error.expected}") from error

    def get_prep_value(self, value):
        quantity = self.to_python(value)
        if quantity is None:
            return None
        parse_quantity(quantity.text, self.dimensions)  # never store what would not read back
        return quantity.text

    def value_to_string(self, obj):
        value = self.value_from_object(obj)
        return "" if value is None else value.text


class Recorded(models.Model):
    """When it was written down here and by whom, as opposed to when it held in the plant."""

    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey("fleet.User", models.PROTECT, related_name="+")

    class Meta:
        abstract = True
