"""Where things stand: sites, their units, and the equipment that is protected."""

from django.db import models

from fleet.calc.units import GAUGE
from fleet.models.base import Keeping, QuantityField, SiteQuerySet


class Site(models.Model):
    """as_left_tolerance: what its shop leaves valves within, narrower than what a code allows.

    weekly_bench_hours: what its shop can take in a week without an outage; None = nobody has said.
    A setting was reset repeatedly when `review_resets` of the last `review_overhauls` moved it.
    """

    keeping = Keeping.MUTABLE
    site_path = "pk"

    name = models.CharField(max_length=120, unique=True)
    as_left_tolerance = models.ForeignKey(
        "fleet.ToleranceBand", models.PROTECT, null=True, related_name="+"
    )
    weekly_bench_hours = models.DecimalField(max_digits=8, decimal_places=2, null=True)
    review_overhauls = models.PositiveSmallIntegerField(default=5)
    review_resets = models.PositiveSmallIntegerField(default=3)

    objects = SiteQuerySet.as_manager()

    def __str__(self):
        return self.name


class Unit(models.Model):
    """A part of a site that is shut down together."""

    keeping = Keeping.MUTABLE
    site_path = "site"

    site = models.ForeignKey(Site, models.PROTECT, related_name="units")
    name = models.CharField(max_length=120)

    objects = SiteQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                fields=["site", "name"], name="a_unit_name_is_used_once_a_site"
            ),
        ]

    def __str__(self):
        return self.name


class Equipment(models.Model):
    """A vessel, boiler or line with the pressure it is allowed (MAWP)."""

    keeping = Keeping.MUTABLE
    site_path = "site"

    site = models.ForeignKey(Site, models.PROTECT, related_name="equipment")
    name = models.CharField(max_length=120)
    mawp = QuantityField(dimensions=(GAUGE,))

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "name"], name="equipment_is_named_once_a_site"),
        ]

    def __str__(self):
        return self.name
