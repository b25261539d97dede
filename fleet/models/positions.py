"""Where a device belongs: positions, the duty each has had, and what was fitted when."""

from django.db import models
from django.db.models import F, Q

from fleet.calc.units import GAUGE
from fleet.models.base import Keeping, QuantityField, Recorded, SiteQuerySet
from fleet.models.devices import FLOWS


class PositionStatus(models.TextChoices):
    IN_SERVICE = "in_service", "in service"
    STANDBY = "standby", "standby"
    OUT_OF_SERVICE = "out_of_service", "out of service"
    REMOVED = "removed", "removed"


class Position(models.Model):
    """A functional location with a tag; obligations belong here.

    tag, unit, status, fluid and set_kpag are the current copies of the latest `PositionDuty`,
    kept by `fleet.actions.positions` so that lists sort on one table.
    """

    keeping = Keeping.MUTABLE
    site_path = "site"

    site = models.ForeignKey("fleet.Site", models.PROTECT, related_name="positions")
    tag = models.CharField(max_length=80)
    unit = models.ForeignKey("fleet.Unit", models.PROTECT, related_name="positions")
    equipment = models.ForeignKey(
        "fleet.Equipment", models.PROTECT, null=True, related_name="positions"
    )
    status = models.CharField(max_length=20, choices=PositionStatus)
    fluid = models.CharField(max_length=80, blank=True)
    set_kpag = models.DecimalField(max_digits=14, decimal_places=6)
    in_service_on = models.DateField(null=True)
    in_service_typed = models.CharField(max_length=10, blank=True)
    commissioned_on = models.DateField(null=True)
    commissioned_typed = models.CharField(max_length=10, blank=True)
    note = models.TextField(blank=True)

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "tag"], name="a_tag_is_used_once_a_site"),
        ]

    def __str__(self):
        return self.tag


class DutyRole(models.TextChoices):
    FIRST = "first", "single or first device"
    ADDITIONAL = "additional", "additional device"
    FIRE = "fire", "fire case"
    BOILER = "boiler", "boiler group"


class PositionDuty(Recorded):
    """What a position asked of its device, from a day on (no day = always)."""

    keeping = Keeping.DATED_FACT
    site_path = "position__site"

    class Phase(models.TextChoices):
        UNKNOWN = "unknown", "unknown"
        GAS = "gas", "gas"
        STEAM = "steam", "steam"
        LIQUID = "liquid", "liquid"
        TWO_PHASE = "two_phase", "two-phase"

    class Severity(models.TextChoices):
        MILD = "mild", "mild"
        MODERATE = "moderate", "moderate"
        SEVERE = "severe", "severe"

    class Discharge(models.TextChoices):
        ATMOSPHERE = "atmosphere", "atmosphere"
        CLOSED = "closed", "closed system"
        FLARE = "flare", "flare"

    class BackPressureKind(models.TextChoices):
        NONE = "none", "none"
        CONSTANT = "constant", "constant"
        VARIABLE = "variable", "variable"

    class Isolation(models.TextChoices):
        NONE = "none", "none"
        BLOCK = "block", "block valve"
        BLOCK_WITH_SPARE = "block_with_spare", "block valve with spare"
        CHANGEOVER = "changeover", "changeover"

    position = models.ForeignKey(Position, models.PROTECT, related_name="duties")
    from_on = models.DateField(null=True)
    tag = models.CharField(max_length=80)
    unit = models.ForeignKey("fleet.Unit", models.PROTECT, related_name="+")
    status = models.CharField(max_length=20, choices=PositionStatus)
    duty_role = models.CharField(max_length=20, choices=DutyRole, blank=True)
    set_pressure = QuantityField(dimensions=(GAUGE,))
    vacuum_set = QuantityField(dimensions=(GAUGE,))
    cold_test_pressure = QuantityField(dimensions=(GAUGE,))
    back_pressure = QuantityField(dimensions=(GAUGE,))
    back_pressure_kind = models.CharField(max_length=20, choices=BackPressureKind, blank=True)
    temperature_multiplier = models.DecimalField(max_digits=8, decimal_places=5, null=True)
    fluid = models.CharField(max_length=80, blank=True)
    phase = models.CharField(max_length=20, choices=Phase, default=Phase.UNKNOWN)
    severity = models.CharField(max_length=20, choices=Severity, blank=True)
    discharge = models.CharField(max_length=20, choices=Discharge, blank=True)
    isolation = models.CharField(max_length=20, choices=Isolation, default=Isolation.NONE)
    tolerance = models.ForeignKey(
        "fleet.ToleranceBand", models.PROTECT, null=True, related_name="duties"
    )
    required_capacity = QuantityField(dimensions=FLOWS)
    moc = models.CharField(max_length=80, blank=True)

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["position", "from_on"], name="a_position_has_one_duty_from_a_day"
            ),
            models.UniqueConstraint(
                fields=["position"],
                condition=Q(from_on=None),
                name="a_position_has_one_duty_from_always",
            ),
        ]

    def __str__(self):
        return f"{self.tag} from {self.from_on or 'always'}: {self.set_pressure}"


class InstallationQuerySet(SiteQuerySet):
    def not_voided(self):
        """Without those that were taken back as mistakes."""
        return self.filter(voided_at=None)

    def on(self, day):
        """Spells that hold on a day: half-open, so the day of removal is not in it."""
        held = Q(removed_on=None) | Q(removed_on__gt=day)
        return self.not_voided().filter(installed_on__lte=day).filter(held)

    def standing(self):
        return self.not_voided().filter(removed_on=None)


class InstallationManager(models.Manager.from_queryset(InstallationQuerySet)):
    """Leaves out what was taken back: no date, list or sheet ever counts it."""

    def get_queryset(self):
        return super().get_queryset().not_voided()


class Installation(Recorded):
    """One device in one position over a span of days, half-open: [installed_on, removed_on).

    The database refuses spells that overlap for a position or for a device. One that was written
    down by mistake is voided, never deleted: it frees its days, and `objects` leaves it out. What
    goes over a relation (`position.installations`) finds it all the same: say `not_voided()`.
    """

    keeping = Keeping.DATED_FACT
    closes = (
        ("removed_on", "removed_typed", "closed_at", "closed_by_id"),
        ("voided_at", "voided_by_id", "void_reason"),
    )
    site_path = "position__site"

    position = models.ForeignKey(Position, models.PROTECT, related_name="installations")
    device = models.ForeignKey("fleet.Device", models.PROTECT, related_name="installations")
    installed_on = models.DateField()
    installed_typed = models.CharField(max_length=10, blank=True)
    removed_on = models.DateField(null=True)
    removed_typed = models.CharField(max_length=10, blank=True)
    override_reason = models.TextField(blank=True)
    fitted_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")
    voided_at = models.DateTimeField(null=True)
    voided_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")
    void_reason = models.TextField(blank=True)

    everything = InstallationQuerySet.as_manager()  # first: what the proof and relations read by
    objects = InstallationManager()

    class Meta:
        indexes = [
            models.Index(fields=["position", "installed_on"], name="fleet_spell_position"),
            models.Index(fields=["device", "installed_on"], name="fleet_spell_device"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(removed_on=None) | Q(removed_on__gt=F("installed_on")),
                name="a_device_comes_out_after_it_went_in",
            ),
            models.CheckConstraint(
                condition=Q(voided_at=None, voided_by=None, void_reason="")
                | Q(voided_at__isnull=False, voided_by__isnull=False) & ~Q(void_reason=""),
                name="who_takes_a_fitting_back_says_why",
            ),
        ]

    def __str__(self):
        return f"{self.device} at {self.position} from {self.installed_on}"
