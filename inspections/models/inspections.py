"""The thick record: one visit to one device, from arrival to verification."""

from django.db import models
from django.db.models import F, Q

from fleet.calc.units import GAUGE
from fleet.models.base import Keeping, LooseQuerySet, QuantityField, Recorded


class Method(models.TextChoices):
    BENCH = "bench", "on the bench"
    IN_PLACE_PRESSURE = "in_place_pressure", "in place, by pressure"
    IN_PLACE_ASSIST = "in_place_assist", "in place, lift assisted"
    MAKER = "maker", "by the maker"


class Medium(models.TextChoices):
    AIR = "air", "air"
    NITROGEN = "nitrogen", "nitrogen"
    STEAM = "steam", "steam"
    WATER = "water", "water"
    GAS = "gas", "gas"
    OTHER = "other", "other"


class Disposition(models.TextChoices):
    REINSTALLED = "reinstalled", "reinstalled"
    REPAIRED = "repaired", "repaired"
    REPLACED = "replaced", "replaced"
    SCRAPPED = "scrapped", "scrapped"
    RETURNED_UNTESTED = "returned_untested", "returned untested"


class InspectionQuerySet(LooseQuerySet):
    def locked(self):
        return self.exclude(locked_at=None)

    def open(self):
        return self.filter(locked_at=None)

    def standing(self):
        """Locked records that no locked correction has replaced."""
        return self.locked().exclude(corrected_by__locked_at__isnull=False)


class Inspection(Recorded):
    """What was found, done and left, on one device, once.

    Open while it is written (`version` counts its saves, so that two people do not overwrite one
    another), locked by verification or by being accepted at load. A correction is a new record
    that `corrects` this one.

    position: where the installation says the device was; tag_typed: what the sheet said.
    signed_by: who of ours signed; of work done elsewhere `done_by` is somebody else.
    event: its line in the ledger, which says too whether it counts.
    """

    keeping = Keeping.LOCKED
    locked_by = "locked_at"
    site_path = "site"

    ref = models.CharField(max_length=80, unique=True)
    site = models.ForeignKey("fleet.Site", models.PROTECT, null=True, related_name="inspections")
    device = models.ForeignKey("fleet.Device", models.PROTECT, related_name="inspections")
    position = models.ForeignKey(
        "fleet.Position", models.PROTECT, null=True, related_name="inspections"
    )
    tag_typed = models.CharField(max_length=80, blank=True)
    activity = models.CharField(max_length=20)
    done_on = models.DateField(null=True)
    done_typed = models.CharField(max_length=20, blank=True)
    done_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="done")
    signed_at = models.DateTimeField(null=True)
    signed_on = models.DateField(null=True)
    signed_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")
    verified_by = models.ForeignKey(
        "fleet.User", models.PROTECT, null=True, related_name="verified"
    )
    accepted_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")
    locked_at = models.DateTimeField(null=True, db_index=True)
    is_baseline = models.BooleanField(default=False)
    version = models.PositiveIntegerField(default=1)
    step = models.CharField("where the bench walk stands", max_length=20, blank=True)

    shop = models.CharField(max_length=120, blank=True)
    sent_on = models.DateField("sent to the outside shop", null=True)
    received_on = models.DateField("back from the outside shop", null=True)
    shop_authorization = models.CharField(max_length=120, blank=True)
    certificate = models.CharField(max_length=120, blank=True, db_index=True)
    witnessed_by = models.CharField(max_length=120, blank=True)
    method = models.CharField(max_length=20, choices=Method, blank=True)
    medium = models.CharField(max_length=20, choices=Medium, blank=True)
    cold_test_pressure = QuantityField(dimensions=(GAUGE,))
    waived_reason = models.TextField(blank=True)
    gauge = models.CharField(max_length=80, blank=True)
    gauge_range = models.CharField(max_length=80, blank=True)
    gauge_accuracy = models.CharField(max_length=40, blank=True)
    gauge_due_on = models.DateField(null=True)
    cap_owner = QuantityField("the owner's limit for a pop", dimensions=(GAUGE,))
    cap_rig = QuantityField("the rig's rating", dimensions=(GAUGE,))
    cap_equipment = QuantityField("what the protected equipment allows", dimensions=(GAUGE,))
    lift_factor = models.CharField("correction of the lift assist", max_length=40, blank=True)
    seal_found = models.CharField(max_length=120, blank=True)
    seal_left = models.CharField(max_length=120, blank=True)
    typed_deviation = models.CharField(max_length=40, blank=True)
    left_reason = models.TextField("why it was left outside the shop's tolerance", blank=True)
    disposition = models.CharField(max_length=20, choices=Disposition, blank=True)
    corrects = models.OneToOneField("self", models.PROTECT, null=True, related_name="corrected_by")
    remarks = models.TextField(blank=True)
    event = models.OneToOneField(
        "fleet.ServiceEvent", models.PROTECT, null=True, related_name="inspection"
    )

    objects = InspectionQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["device", "done_on"], name="insp_device_done"),
            models.Index(fields=["position", "done_on"], name="insp_position_done"),
            models.Index(
                fields=["done_on", "device"], condition=Q(done_on=None), name="insp_undated"
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(verified_by=None) | Q(done_by=None) | ~Q(verified_by=F("done_by")),
                name="nobody_verifies_their_own_work",
            ),
            models.CheckConstraint(
                condition=Q(locked_at=None) | ~Q(verified_by=None) | ~Q(accepted_by=None),
                name="a_locked_inspection_was_verified_or_accepted",
            ),
        ]

    def __str__(self):
        return self.ref

    @property
    def is_away(self) -> bool:
        """Was it sent to an outside shop, and is not back?"""
        return self.sent_on is not None and self.received_on is None

    @property
    def is_counted(self) -> bool:
        """Does it reset a clock? Its event may only keep what the first pop said."""
        return self.event is not None and self.event.is_counted
