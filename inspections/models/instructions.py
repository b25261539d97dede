"""What a device is to be set to, and what its parts may measure, by maker's or engineer's word."""

from django.db import models
from django.db.models import Q

from fleet.models.base import Keeping, LooseQuerySet, QuantityField, Recorded
from inspections.models.readings import MEASURES


class Instruction(Recorded):
    """A setting as an engineer or the maker says it is to be, for one device, from a day on.

    A signed record: it outranks the last as-left as the target until another takes its place, or
    until `until_on`.
    """

    keeping = Keeping.DATED_FACT
    closes = (("until_on", "closed_at", "closed_by_id"),)
    site_path = "device__site"

    device = models.ForeignKey("fleet.Device", models.PROTECT, related_name="instructions")
    setting = models.CharField(max_length=40)
    value = QuantityField(dimensions=MEASURES)
    datum = models.CharField(max_length=120)
    from_on = models.DateField()
    until_on = models.DateField(null=True)
    source = models.CharField("the instruction it follows", max_length=200)
    reason = models.TextField()
    signed_by = models.ForeignKey("fleet.User", models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")

    objects = LooseQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["device", "setting", "from_on"], name="one_instruction_begins_a_day"
            ),
            models.CheckConstraint(
                condition=Q(until_on=None) | Q(until_on__gt=models.F("from_on")),
                name="an_instruction_ends_after_it_begins",
            ),
        ]

    def __str__(self):
        return f"{self.device}: {self.setting} {self.value} from {self.from_on}"


class PartLimit(models.Model):
    """What one measurement of one part of a model may read, and who says so. Editable data."""

    keeping = Keeping.MUTABLE

    model = models.ForeignKey("fleet.DeviceModel", models.PROTECT, related_name="part_limits")
    part = models.CharField(max_length=80)
    measure = models.CharField(max_length=80)
    low = models.CharField(max_length=60, blank=True)
    high = models.CharField(max_length=60, blank=True)
    source = models.CharField(max_length=200)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["model", "part", "measure"], name="a_measure_of_a_part_has_one_limit"
            ),
            models.CheckConstraint(
                condition=~Q(low="", high=""), name="a_limit_says_at_least_one_end"
            ),
        ]

    def __str__(self):
        return f"{self.model}: {self.part}, {self.measure}"
