"""What relieves: models of valve and disc, and each physical device."""

from django.db import models

from fleet.calc.units import (
    GAS_FLOW,
    GAUGE,
    LENGTH,
    LIQUID_FLOW,
    MASS_FLOW,
    SPRING_RATE,
    TEMPERATURE,
)
from fleet.models.base import Keeping, LooseQuerySet, QuantityField

FLOWS = (MASS_FLOW, GAS_FLOW, LIQUID_FLOW)


class DeviceModel(models.Model):
    """A maker's model: what devices of it can be set to hangs here."""

    keeping = Keeping.MUTABLE

    maker = models.CharField(max_length=120, blank=True)
    name = models.CharField(max_length=120)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["maker", "name"], name="a_model_name_is_used_once_a_maker"
            ),
        ]

    def __str__(self):
        return f"{self.maker} {self.name}".strip()


class Device(models.Model):
    """A physical valve or disc. Drift and reliability belong to it, wherever it is fitted."""

    keeping = Keeping.MUTABLE
    site_path = "site"

    class Kind(models.TextChoices):
        SPRING = "spring", "spring"
        BELLOWS = "bellows", "bellows"
        PILOT = "pilot", "pilot"
        RUPTURE_DISC = "rupture_disc", "rupture disc"
        PIN = "pin", "pin"
        VENT = "vent", "vent"

    class Status(models.TextChoices):
        AVAILABLE = "available", "available"
        IN_SHOP = "in_shop", "in the shop"
        QUARANTINED = "quarantined", "quarantined"
        SCRAPPED = "scrapped", "scrapped"

    number = models.CharField("the owner's number", max_length=80, unique=True)
    site = models.ForeignKey("fleet.Site", models.PROTECT, null=True, related_name="devices")
    serial = models.CharField(max_length=80, blank=True, db_index=True)
    model = models.ForeignKey(DeviceModel, models.PROTECT, null=True, related_name="devices")
    kind = models.CharField(max_length=20, choices=Kind)
    nameplate_set = QuantityField(dimensions=(GAUGE,))
    spring_range = models.CharField(max_length=80, blank=True)
    inlet = models.CharField(max_length=80, blank=True)
    outlet = models.CharField(max_length=80, blank=True)
    orifice = models.CharField(max_length=40, blank=True)
    seat = models.CharField(max_length=40, blank=True)
    rated_capacity = QuantityField(dimensions=FLOWS)
    spring = models.CharField(max_length=80, blank=True)
    spring_rate = QuantityField(dimensions=(SPRING_RATE,))
    screw_lead = QuantityField(dimensions=(LENGTH,))
    seat_diameter = QuantityField(dimensions=(LENGTH,))
    burst_temperature = QuantityField(dimensions=(TEMPERATURE,))
    lot = models.CharField(max_length=80, blank=True)
    status = models.CharField(max_length=20, choices=Status, default=Status.AVAILABLE)
    shelf_expires_on = models.DateField(null=True)
    note = models.TextField(blank=True)

    objects = LooseQuerySet.as_manager()

    def __str__(self):
        return self.number
