"""The settings review as it is kept: what is listed on a day, what is flagged, what was answered.

Kept of today, and of the few past days that were asked for last. Rows here but the acknowledgements
are worked out from the records and never a fact: they are made again for the devices something was
written about, and would come out the same if all were.
"""

from datetime import date

from django.db import models
from django.db.models.functions import Coalesce

from fleet.models.base import Keeping, LooseQuerySet, Recorded


class SettingState(models.Model):
    """One setting of one device as the review of a day sorts, cuts and screens it.

    home: the site of its device, by which it is seen; site, unit: where it stands or stood last.
    device_weight, device_far: of its device, so that a device's settings stand together.
    `per_year`, `variance` and `spread` are the drift in service, the residual variance about it
    and how far the drift's own variance is from that one; None with too few changes. `resets` of
    `reset_of` shop resets went beyond the resolution.
    """

    keeping = Keeping.MUTABLE
    is_audited = False
    site_path = "home"

    screening = models.ForeignKey(
        "inspections.Screening", models.CASCADE, related_name="states", db_index=False
    )
    device = models.ForeignKey("fleet.Device", models.CASCADE, related_name="setting_states")
    setting = models.CharField(max_length=40)
    home = models.ForeignKey("fleet.Site", models.CASCADE, null=True, related_name="+")
    site = models.ForeignKey("fleet.Site", models.CASCADE, null=True, related_name="+")
    unit = models.ForeignKey("fleet.Unit", models.CASCADE, null=True, related_name="+")
    model = models.ForeignKey("fleet.DeviceModel", models.CASCADE, null=True, related_name="+")
    service = models.CharField("the fluid it stands in", max_length=120, blank=True)
    tag = models.CharField(max_length=80, blank=True)
    visits = models.PositiveIntegerField()
    first_on = models.DateField("the first visit it tells of", null=True)
    is_flagged = models.BooleanField(default=False)
    weight = models.PositiveIntegerField(default=0)
    device_weight = models.PositiveIntegerField(default=0)
    device_far = models.DecimalField(max_digits=12, decimal_places=4, default=0)
    family = models.CharField("what its variance is pooled with", max_length=60, blank=True)
    changes = models.PositiveIntegerField("service movements that can be judged", default=0)
    per_year = models.FloatField(null=True)
    variance = models.FloatField(null=True)
    spread = models.FloatField(null=True)
    at_floor = models.BooleanField("known only to be no more than its variance", default=False)
    moved = models.JSONField("day, sign and datum of last movements", default=list)
    resets = models.PositiveIntegerField(default=0)
    reset_of = models.PositiveIntegerField(default=0)

    objects = LooseQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(
                fields=[
                    *("screening", "-is_flagged", "-device_weight", "-device_far"),
                    *("device", "-weight", "id"),
                ],
                name="insp_state_worst",
            ),
            models.Index(
                fields=[
                    *("screening", "home", "-is_flagged", "-device_weight", "-device_far"),
                    *("device", "-weight", "id"),
                ],
                name="insp_state_home_worst",
            ),
            models.Index(fields=["screening", "tag", "id"], name="insp_state_tag"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["screening", "device", "setting"],
                name="a_setting_of_a_device_is_listed_once",
            ),
        ]

    def __str__(self):
        return f"{self.device} {self.setting}"


class FlagState(models.Model):
    """One flag of one setting, its reasons oldest first, and whether somebody has answered it.

    fingerprint: SHA-256 of what it rests on; another one is something new.
    """

    keeping = Keeping.MUTABLE
    is_audited = False
    site_path = "state__home"

    state = models.ForeignKey(SettingState, models.CASCADE, related_name="flags")
    code = models.CharField(max_length=30)
    reasons = models.JSONField()
    is_statistic = models.BooleanField(default=False)
    fingerprint = models.CharField(max_length=64)
    acknowledgement = models.ForeignKey(
        "inspections.Acknowledgement", models.SET_NULL, null=True, related_name="+"
    )

    objects = LooseQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["code", "state"], name="insp_flag_code")]
        constraints = [
            models.UniqueConstraint(fields=["state", "code"], name="a_setting_shows_a_flag_once"),
        ]

    def __str__(self):
        return f"{self.state} {self.code}"


class Acknowledgement(Recorded):
    """An engineer has looked at a flag and says so; it holds until the flag rests on something
    else."""

    keeping = Keeping.DATED_FACT
    site_path = "device__site"

    device = models.ForeignKey("fleet.Device", models.PROTECT, related_name="acknowledgements")
    setting = models.CharField(max_length=40)
    code = models.CharField(max_length=30)
    fingerprint = models.CharField(max_length=64)
    note = models.TextField()

    objects = LooseQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["device", "setting", "code", "fingerprint"],
                name="a_flag_is_acknowledged_once",
            ),
        ]

    def __str__(self):
        return f"{self.device} {self.setting} {self.code}"


class ScreeningQuerySet(models.QuerySet["Screening"]):
    def of_today(self) -> "Screening | None":
        return self.filter(day=None).first()


class Screening(models.Model):
    """The last screening of the whole fleet: up to which entry of the chain, under what budget of
    false flags, and what it was judged by.

    day: the past day it is of; None for the one that always is of today.
    priors: {family: [degrees of freedom, variance, degrees of freedom of the whole family]}, null
    for infinite; rates: {setting: [k, n]} of shop resets beyond the resolution.
    """

    keeping = Keeping.MUTABLE
    is_audited = False

    day = models.DateField("the past day it is of", null=True)
    entry = models.BigIntegerField("the last entry of the chain it has taken in")
    digest = models.CharField(max_length=64)
    screened = models.BigIntegerField("the last entry its statistics have taken in", default=0)
    made_at = models.DateTimeField()
    budget = models.DecimalField("share of false flags borne", max_digits=4, decimal_places=3)
    judged = models.PositiveIntegerField(default=0)
    too_few = models.PositiveIntegerField("with not enough readings", default=0)
    expected_false = models.FloatField(default=0)
    first_on = models.DateField("the first visit any state tells of", null=True)
    priors = models.JSONField(default=dict)
    rates = models.JSONField(default=dict)

    objects = ScreeningQuerySet.as_manager()

    class Meta:
        constraints = [
            # Two empty days would not be alike; the last day there is stands for them.
            models.UniqueConstraint(
                Coalesce("day", models.Value(date.max)), name="a_day_is_screened_once"
            ),
        ]

    def __str__(self):
        return f"screened to entry {self.entry}"

    @property
    def stamp(self) -> tuple:
        """Another one once anything that is kept is."""
        return (self.pk, self.entry, self.digest, self.screened, self.made_at)
