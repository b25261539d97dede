"""Devices that do one duty together: what stands with what, and in which role."""

from django.db import models

from fleet.models.base import Keeping, SiteQuerySet


class Arrangement(models.Model):
    """Positions joined to protect something together; each still holds one device of its own."""

    keeping = Keeping.MUTABLE
    site_path = "site"

    class Kind(models.TextChoices):
        COMBINATION = "combination", "rupture disc and valve"
        CHANGEOVER = "changeover", "duty and standby on a changeover"
        PILOT = "pilot", "pilot and main valve"
        MULTIPLE = "multiple", "several devices sharing one duty"

    site = models.ForeignKey("fleet.Site", models.PROTECT, related_name="arrangements")
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=20, choices=Kind)

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "name"], name="an_arrangement_has_one_name"),
        ]

    def __str__(self):
        return self.name


class ArrangementMember(models.Model):
    """One position of an arrangement, in its role."""

    keeping = Keeping.MUTABLE
    site_path = "arrangement__site"

    class Role(models.TextChoices):
        VALVE = "valve", "valve"
        UPSTREAM_DISC = "upstream_disc", "upstream disc"
        MAIN = "main", "main valve"
        PILOT = "pilot", "pilot"
        DUTY = "duty", "duty"
        STANDBY = "standby", "standby"
        ADDITIONAL = "additional", "additional device"
        FIRE = "fire", "fire case"

    arrangement = models.ForeignKey(Arrangement, models.PROTECT, related_name="members")
    position = models.ForeignKey("fleet.Position", models.PROTECT, related_name="arranged")
    role = models.CharField(max_length=20, choices=Role)

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["arrangement", "position"], name="a_position_has_one_role_in_it"
            ),
        ]

    def __str__(self):
        return f"{self.position}: {self.role} of {self.arrangement}"
