"""What was read: pops, what a model can be set to, and each setting as found and as left."""

from fractions import Fraction

from django.db import models

from fleet.calc.units import GAUGE, LEAK_RATE, LENGTH, NOTCHES, TURNS
from fleet.models.base import Keeping, LooseQuerySet, QuantityField
from inspections.calc import vacuum

MEASURES = (NOTCHES, TURNS, LENGTH)


class Stage(models.TextChoices):
    AS_FOUND = "as_found", "as found"
    AS_LEFT = "as_left", "as left"


class PopStage(models.TextChoices):
    """A vent opens inward as well: its vacuum side is popped, and judged, on its own."""

    AS_FOUND = "as_found", "as found"
    AS_LEFT = "as_left", "as left"
    VACUUM_FOUND = "vac_found", "vacuum as found"
    VACUUM_LEFT = "vac_left", "vacuum as left"


class PopTest(models.Model):
    """One pop. The first as-found pop is the as-found value, for ever.

    bound: `above` = no lift at this pressure (censored). The band in force that day is
    snapshotted, with the pressure it stands about; of an as-left pop also the verdict by the
    tolerance that the site's own shop leaves valves within, which decides nothing but a question.
    """

    keeping = Keeping.LOCKED
    locked_with = "inspection"
    site_path = "inspection__site"

    class Result(models.TextChoices):
        OPENED = "opened", "opened"
        NO_LIFT = "no_lift", "no lift"
        PARTIAL = "partial", "partial lift"
        STUCK_OPEN = "stuck_open", "stuck open"
        LEAKED_FIRST = "leaked_first", "leaked before opening"

    class Bound(models.TextChoices):
        EXACT = "", "exact"
        ABOVE = "above", "above"

    inspection = models.ForeignKey("inspections.Inspection", models.CASCADE, related_name="pops")
    stage = models.CharField(max_length=10, choices=PopStage)
    order = models.PositiveSmallIntegerField(default=1)
    pressure = QuantityField(dimensions=(GAUGE,))
    bound = models.CharField(max_length=8, choices=Bound, blank=True, default="")
    result = models.CharField(max_length=20, choices=Result, blank=True)
    reseat = QuantityField(dimensions=(GAUGE,))
    leak_rate = QuantityField(dimensions=(LEAK_RATE,))
    tolerance = models.ForeignKey(
        "fleet.ToleranceBand", models.PROTECT, null=True, related_name="+"
    )
    reference = QuantityField("the pressure the band stands about", dimensions=(GAUGE,))
    band_low = QuantityField(dimensions=(GAUGE,))
    band_high = QuantityField(dimensions=(GAUGE,))
    deviation_percent = models.DecimalField(max_digits=9, decimal_places=4, null=True)
    verdict = models.CharField(max_length=10, blank=True)
    shop_tolerance = models.ForeignKey(
        "fleet.ToleranceBand", models.PROTECT, null=True, related_name="+"
    )
    shop_verdict = models.CharField(max_length=10, blank=True)

    objects = LooseQuerySet.as_manager()

    class Meta:
        ordering = ["stage", "order"]
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "stage", "order"], name="pops_of_a_stage_are_in_order"
            ),
        ]

    def __str__(self):
        return f"{self.inspection} {self.stage} pop {self.order}: {self.pressure}"

    @property
    def is_vacuum(self) -> bool:
        return self.stage in (PopStage.VACUUM_FOUND, PopStage.VACUUM_LEFT)

    @property
    def verdict_words(self) -> str:
        """Of a vacuum, where high and low would be misread; "" where the verdict's own word is."""
        return vacuum.WORDS.get(self.verdict, "") if self.is_vacuum else ""

    @property
    def shop_words(self) -> str:
        """How a pop as left stands to the site's own tolerance; "" where none was in force."""
        if not self.shop_verdict:
            return ""
        said = {"in": "within", "high": "above", "low": "below"}
        stands = said.get(self.shop_verdict, "not decided against")
        return f"{stands} the site's own {self.shop_tolerance}"

    @property
    def vacuum_off(self) -> str:
        """How far a vacuum is off its set, in words; "" of the pressure side."""
        if not self.is_vacuum or self.deviation_percent is None:
            return ""
        is_bound = self.bound == self.Bound.ABOVE
        return vacuum.off_words(Fraction(self.deviation_percent), no_lift=is_bound)


class SettingPoint(models.Model):
    """One thing a device model can be set to, and how it is counted."""

    keeping = Keeping.MUTABLE

    class Measure(models.TextChoices):
        NOTCHES = "notches", "notches"
        TURNS = "turns", "turns"
        LENGTH = "length", "length"

    class Positive(models.TextChoices):
        UP = "up", "up"
        DOWN = "down", "down"
        IN = "in", "in"
        OUT = "out", "out"

    model = models.ForeignKey("fleet.DeviceModel", models.PROTECT, related_name="setting_points")
    setting = models.CharField(max_length=40)
    measure = models.CharField(max_length=10, choices=Measure)
    datum = models.CharField(max_length=120)
    positive = models.CharField(max_length=10, choices=Positive)
    resolution = QuantityField(dimensions=MEASURES)
    required = models.BooleanField(default=False)
    synonyms = models.CharField(max_length=200, blank=True)
    limit_low = QuantityField(dimensions=MEASURES)
    limit_high = QuantityField(dimensions=MEASURES)
    source = models.CharField(max_length=200, blank=True)
    notches_per_turn = models.PositiveSmallIntegerField(null=True)
    lead = QuantityField("advance of its thread a turn", dimensions=(LENGTH,))

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["model", "setting"], name="a_model_has_a_setting_point_once"
            ),
        ]

    def __str__(self):
        return f"{self.model}: {self.setting}"


class SettingReading(models.Model):
    """One setting, as found or as left: value as typed, its datum, or why it is missing."""

    keeping = Keeping.LOCKED
    locked_with = "inspection"
    site_path = "inspection__site"

    inspection = models.ForeignKey(
        "inspections.Inspection", models.CASCADE, related_name="settings"
    )
    setting = models.CharField(max_length=40)
    stage = models.CharField(max_length=10, choices=Stage)
    value = QuantityField(dimensions=MEASURES)
    datum = models.CharField(max_length=120, blank=True)
    is_datum_typed = models.BooleanField(default=False)
    missing_reason = models.TextField(blank=True)
    changed_reason = models.TextField(blank=True)
    changed_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")
    seconded_by = models.CharField("second initials", max_length=40, blank=True)
    datum_reason = models.CharField("why it is counted from another", max_length=120, blank=True)
    note = models.TextField(blank=True)

    objects = LooseQuerySet.as_manager()

    class Meta:
        ordering = ["setting", "stage"]
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "setting", "stage"], name="a_setting_is_read_once_a_stage"
            ),
        ]

    def __str__(self):
        return f"{self.inspection} {self.setting} {self.stage}: {self.value or 'missing'}"
