"""What happens at a position beside the work: triggers, counter readings, days out of service."""

from django.db import models
from django.db.models import F, Q

from fleet.models.base import Keeping, Recorded, SiteQuerySet


class Trigger(Recorded):
    """Something that calls for work within days: a release, an alteration, a change of process."""

    keeping = Keeping.DATED_FACT
    site_path = "position__site"

    class Kind(models.TextChoices):
        RELEASE = "release", "release"
        ALTERATION = "alteration", "alteration"
        MAJOR_REPAIR = "major_repair", "major repair"
        MAWP_INCREASE = "mawp_increase", "increase of the allowed pressure"
        PROCESS_CHANGE = "process_change", "change of process"
        LONG_SHUTDOWN = "long_shutdown", "long shutdown"
        IRREGULARITY = "irregularity", "irregularity"

    position = models.ForeignKey("fleet.Position", models.PROTECT, related_name="triggers")
    kind = models.CharField(max_length=20, choices=Kind)
    happened_on = models.DateField()
    note = models.TextField(blank=True)

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["position", "kind", "happened_on"], name="a_trigger_is_told_once_a_day"
            ),
        ]

    def __str__(self):
        return f"{self.kind} at {self.position} on {self.happened_on}"


class CounterReading(Recorded):
    """What a counter of use (service days, starts, hours) stood at on a day. It never runs back."""

    keeping = Keeping.DATED_FACT
    site_path = "position__site"

    position = models.ForeignKey("fleet.Position", models.PROTECT, related_name="readings")
    counter = models.CharField(max_length=40)
    read_on = models.DateField()
    value = models.DecimalField(max_digits=14, decimal_places=4)

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["position", "counter", "read_on"], name="a_counter_is_read_once_a_day"
            ),
        ]

    def __str__(self):
        return f"{self.counter} {self.value} at {self.position} on {self.read_on}"


class OutOfServiceQuerySet(SiteQuerySet):
    def on(self, day):
        """Spans that hold on a day: half-open, so the day of return is not in it."""
        return self.filter(from_on__lte=day).filter(Q(to_on=None) | Q(to_on__gt=day))


class OutOfService(Recorded):
    """Days [from_on, to_on) on which a position was out of service; no to_on = it still is."""

    keeping = Keeping.DATED_FACT
    closes = (("to_on", "closed_at", "closed_by_id"),)
    site_path = "position__site"

    position = models.ForeignKey("fleet.Position", models.PROTECT, related_name="idle_spans")
    from_on = models.DateField()
    to_on = models.DateField(null=True)
    how = models.TextField("how it is isolated or laid up", blank=True)
    told_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")

    objects = OutOfServiceQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["position", "from_on"], name="a_position_goes_out_once_a_day"
            ),
            models.CheckConstraint(
                condition=Q(to_on=None) | Q(to_on__gt=F("from_on")),
                name="a_position_returns_after_it_went_out",
            ),
        ]

    def __str__(self):
        return f"{self.position} out of service from {self.from_on}"
