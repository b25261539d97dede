"""What was done: the thin dated ledger line that resets a clock."""

from django.db import models
from django.db.models import Q

from fleet.models.base import Keeping, LooseQuerySet, Recorded


class ServiceEventQuerySet(LooseQuerySet):
    def standing(self):
        """Events that were not voided."""
        return self.filter(void=None)

    def counting(self):
        """Standing events that reset a clock."""
        return self.standing().filter(is_counted=True)


class ServiceEvent(Recorded):
    """One activity on one day, earned by a device or, where the activity is of the place, by a
    position. Written by `fleet.ledger` alone.

    as_found_percent: deviation of the first pop from the CDTP; as_found_bound `above` marks a
    pop that never came (no lift at that pressure). as_found_verdict: in, high or low by the band
    in force that day. is_counted: it resets the clock; one that does not (the device was
    scrapped) still tells what was found.
    """

    keeping = Keeping.DATED_FACT
    site_path = "site"

    site = models.ForeignKey("fleet.Site", models.PROTECT, null=True, related_name="+")
    device = models.ForeignKey(
        "fleet.Device", models.PROTECT, null=True, related_name="service_events"
    )
    position = models.ForeignKey(
        "fleet.Position", models.PROTECT, null=True, related_name="service_events"
    )
    activity = models.CharField(max_length=20)
    done_on = models.DateField()
    ref = models.CharField("the record it comes from", max_length=80)
    as_found_percent = models.DecimalField(max_digits=9, decimal_places=4, null=True)
    as_found_bound = models.CharField(max_length=8, blank=True)
    as_found_verdict = models.CharField(max_length=12, blank=True)
    is_counted = models.BooleanField(default=True)
    is_baseline = models.BooleanField(default=False)

    objects = ServiceEventQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["device", "done_on"], name="fleet_event_device"),
            models.Index(fields=["position", "done_on"], name="fleet_event_position"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(device=None) ^ Q(position=None),
                name="an_event_is_earned_by_a_device_or_a_position",
            ),
        ]

    def __str__(self):
        return f"{self.activity} {self.ref} on {self.done_on}"


class EventVoid(Recorded):
    """Says that a service event no longer counts, and why."""

    keeping = Keeping.DATED_FACT
    site_path = "event__site"

    event = models.OneToOneField(ServiceEvent, models.PROTECT, related_name="void")
    reason = models.TextField()

    objects = LooseQuerySet.as_manager()

    def __str__(self):
        return f"void: {self.event}"
