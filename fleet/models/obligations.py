"""What is owed: obligations, their spans over time, and the decisions that move them."""

from django.db import models
from django.db.models import F, Q

from fleet.models.base import Keeping, Recorded, SiteQuerySet


class CountsFrom(models.TextChoices):
    DONE_ON = "done_on", "the day it was done"
    INSTALLED_ON = "installed_on", "the day it entered service"
    COMMISSIONED_ON = "commissioned_on", "commissioning, until first done"


class Obligation(Recorded):
    """One activity owed at one position under one interval rule."""

    keeping = Keeping.DATED_FACT
    closes = (("until_on", "closed_at", "closed_by_id"),)
    site_path = "position__site"

    position = models.ForeignKey("fleet.Position", models.PROTECT, related_name="obligations")
    activity = models.CharField(max_length=20)
    rule = models.ForeignKey("fleet.IntervalRule", models.PROTECT, related_name="obligations")
    counts_from = models.CharField(max_length=20, choices=CountsFrom, default=CountsFrom.DONE_ON)
    shelf_limit = models.CharField("shelf limit (ISO 8601)", max_length=20, blank=True)
    season = models.CharField(max_length=5, blank=True)
    group = models.CharField(max_length=80, blank=True)
    from_on = models.DateField(null=True)
    until_on = models.DateField(null=True)
    note = models.TextField(blank=True)
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["position", "activity", "rule"],
                name="a_position_owes_an_activity_once_under_a_rule",
            ),
            models.CheckConstraint(
                condition=Q(until_on=None) | Q(from_on=None) | Q(until_on__gt=F("from_on")),
                name="an_obligation_ends_after_it_begins",
            ),
        ]

    def __str__(self):
        return f"{self.activity} at {self.position} under {self.rule}"


class IntervalDecision(Recorded):
    """An engineer's decision on an interval, dated and signed; it never rewrites past days."""

    keeping = Keeping.DATED_FACT
    site_path = "obligation__position__site"

    obligation = models.ForeignKey(Obligation, models.PROTECT, related_name="decisions")
    from_on = models.DateField()
    interval = models.CharField("interval (ISO 8601)", max_length=20)
    act_by = models.DateField(null=True)
    reason = models.TextField()
    evidence = models.TextField(blank=True)
    decided_by = models.ForeignKey("fleet.User", models.PROTECT, related_name="+")

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["obligation", "from_on"], name="one_interval_decision_takes_effect_a_day"
            ),
        ]

    def __str__(self):
        return f"{self.interval} from {self.from_on}"


class Deferral(Recorded):
    """Leave to pass one due date, until a day, under a policy. Never part of the due date."""

    keeping = Keeping.DATED_FACT
    site_path = "obligation__position__site"

    class Policy(models.TextChoices):
        SIMPLE = "simple", "simple"
        ASSESSED = "assessed", "assessed"
        SINGLE_POSTPONEMENT = "single_postponement", "single postponement"
        TEST_PERIOD = "test_period", "test period"

    obligation = models.ForeignKey(Obligation, models.PROTECT, related_name="deferrals")
    due_on = models.DateField("the due date it passes")
    until_on = models.DateField()
    policy = models.CharField(max_length=20, choices=Policy)
    reason = models.TextField()
    interim_measure = models.TextField(blank=True)
    document = models.CharField(max_length=200, blank=True)
    notified_on = models.DateField(null=True)
    approved_by = models.ForeignKey("fleet.User", models.PROTECT, related_name="+")
    approved_on = models.DateField()

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["obligation", "due_on"], name="a_due_date_is_deferred_once"
            ),
            models.CheckConstraint(
                condition=Q(until_on__gt=F("due_on")), name="a_deferral_ends_after_the_due_date"
            ),
        ]

    def __str__(self):
        return f"{self.due_on} deferred to {self.until_on} ({self.policy})"
