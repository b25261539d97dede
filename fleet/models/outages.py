"""When work can be done: outages of units, and how long a job takes."""

from django.db import models
from django.db.models import F, Q

from fleet.models.base import Keeping, SiteQuerySet


class Outage(models.Model):
    keeping = Keeping.MUTABLE
    site_path = "site"

    class Status(models.TextChoices):
        DRAFT = "draft", "draft"
        PLANNED = "planned", "planned"
        UNDER_WAY = "under_way", "under way"
        DONE = "done", "done"
        CANCELLED = "cancelled", "cancelled"

    site = models.ForeignKey("fleet.Site", models.PROTECT, related_name="outages")
    name = models.CharField(max_length=120)
    units = models.ManyToManyField("fleet.Unit", through="fleet.OutageUnit", related_name="outages")
    starts_on = models.DateField()
    ends_on = models.DateField()
    freeze_on = models.DateField(null=True)
    bench_hours = models.DecimalField(max_digits=8, decimal_places=2, null=True)
    weekly_hours = models.DecimalField(max_digits=8, decimal_places=2, null=True)
    status = models.CharField(max_length=20, choices=Status, default=Status.PLANNED)

    objects = SiteQuerySet.as_manager()

    class Meta:
        ordering = ["starts_on", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["site", "name"], name="an_outage_name_is_used_once_a_site"
            ),
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")), name="an_outage_ends_after_it_starts"
            ),
        ]

    def __str__(self):
        return self.name


class OutageUnit(models.Model):
    """One unit that an outage shuts down."""

    keeping = Keeping.MUTABLE
    site_path = "outage__site"

    outage = models.ForeignKey(Outage, models.CASCADE, related_name="unit_links")
    unit = models.ForeignKey("fleet.Unit", models.PROTECT, related_name="outage_links")

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["outage", "unit"], name="an_outage_names_a_unit_once"),
        ]

    def __str__(self):
        return f"{self.unit} in {self.outage}"


class JobHours(models.Model):
    """Bench hours one activity takes, for a kind of device or for any."""

    keeping = Keeping.MUTABLE

    activity = models.CharField(max_length=20)
    kind = models.CharField(max_length=20, blank=True)
    hours = models.DecimalField(max_digits=6, decimal_places=2)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["activity", "kind"], name="job_hours_are_given_once"),
        ]

    def __str__(self):
        return f"{self.activity} {self.kind or 'any'}: {self.hours} h"
