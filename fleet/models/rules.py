"""Under what rule, within what band: interval rules and set-pressure tolerances in use."""

from functools import cached_property

from django.db import models

from fleet.calc.intervals import shape_from
from fleet.calc.library import tolerance_from
from fleet.models.base import Keeping, Recorded


class IntervalRule(Recorded):
    """An interval rule in use: a shape with its parameters, and where it comes from.

    Copied from the library by the action that first uses it; an edit is a new row that `replaces`.
    """

    keeping = Keeping.DATED_FACT

    code = models.CharField(max_length=60, unique=True)
    kind = models.CharField(max_length=20)
    parameters = models.JSONField()
    citation = models.CharField(max_length=200)
    edition = models.CharField(max_length=80, blank=True)
    is_verified = models.BooleanField("checked against a copy", default=False)
    replaces = models.ForeignKey("self", models.PROTECT, null=True, related_name="replaced_by")
    from_on = models.DateField(null=True)

    def __str__(self):
        return self.code

    @cached_property
    def shape(self):
        return shape_from(self.kind, self.parameters)


class ToleranceBand(Recorded):
    """A set-pressure tolerance in use, with its bands as data and where it comes from."""

    keeping = Keeping.DATED_FACT

    code = models.CharField(max_length=60, unique=True)
    definition = models.JSONField()
    citation = models.CharField(max_length=200)
    edition = models.CharField(max_length=80, blank=True)
    is_verified = models.BooleanField("checked against a copy", default=False)
    replaces = models.ForeignKey("self", models.PROTECT, null=True, related_name="replaced_by")
    from_on = models.DateField(null=True)

    def __str__(self):
        return self.code

    @cached_property
    def tolerance(self):
        return tolerance_from(self.code, self.definition)
