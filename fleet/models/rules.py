"""Under what rule, within what band: interval rules and set-pressure tolerances in use."""

from functools import cached_property

from django.db import models

from fleet.calc.intervals import shape_from
from fleet.calc.library import tolerance_from
from fleet.models.base import Keeping, Recorded


class Sourced(Recorded):
    """Something law, a code or the owner says: copied from the library by the action that first
    uses it. An edit is a new row that `replaces` the old one from a day on."""

    code = models.CharField(max_length=60, unique=True)
    citation = models.CharField(max_length=200)
    edition = models.CharField(max_length=80, blank=True)
    is_verified = models.BooleanField("checked against a copy", default=False)
    replaces = models.ForeignKey("self", models.PROTECT, null=True, related_name="replaced_by")
    from_on = models.DateField(null=True)

    class Meta:
        abstract = True

    def __str__(self):
        return self.code


class IntervalRule(Sourced):
    """An interval rule in use: a shape with its parameters, and where it comes from."""

    keeping = Keeping.DATED_FACT

    kind = models.CharField(max_length=20)
    parameters = models.JSONField()

    def __str__(self):
        return self.code

    @cached_property
    def shape(self):
        return shape_from(self.kind, self.parameters)


class ToleranceBand(Sourced):
    """A set-pressure tolerance in use, with its bands as data and where it comes from."""

    keeping = Keeping.DATED_FACT

    definition = models.JSONField()

    def __str__(self):
        return self.code

    @cached_property
    def tolerance(self):
        return tolerance_from(self.code, self.definition)
