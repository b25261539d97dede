"""What was seen, and what still has to be answered."""

from django.db import models
from django.db.models import Q

from fleet.models.base import Keeping, LooseQuerySet, Recorded


class Finding(models.Model):
    """What was seen on one part, and what was done about it."""

    keeping = Keeping.LOCKED
    locked_with = "inspection"
    site_path = "inspection__site"

    inspection = models.ForeignKey(
        "inspections.Inspection", models.CASCADE, related_name="findings"
    )
    part = models.CharField(max_length=80)
    order = models.PositiveSmallIntegerField(default=1)
    condition = models.CharField(max_length=200)
    action = models.CharField(max_length=200, blank=True)
    measure = models.CharField(max_length=80, blank=True)
    value = models.CharField(max_length=60, blank=True)

    objects = LooseQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "part", "order"], name="findings_of_a_part_are_in_order"
            ),
        ]

    def __str__(self):
        return f"{self.part}: {self.condition}"


class QuestionQuerySet(LooseQuerySet):
    def open(self):
        return self.filter(answered_at=None)


class Question(Recorded):
    """Something a record does not explain, opened by a check and answered by a named person."""

    keeping = Keeping.DATED_FACT
    closes = (("answered_at", "answered_by_id", "answer"),)
    site_path = "site"

    site = models.ForeignKey("fleet.Site", models.PROTECT, null=True, related_name="questions")
    position = models.ForeignKey(
        "fleet.Position", models.PROTECT, null=True, related_name="questions"
    )
    device = models.ForeignKey("fleet.Device", models.PROTECT, null=True, related_name="questions")
    inspection = models.ForeignKey(
        "inspections.Inspection", models.PROTECT, null=True, related_name="questions"
    )
    code = models.CharField(max_length=40)
    field = models.CharField(max_length=60, blank=True)
    typed = models.CharField(max_length=200, blank=True)
    text = models.TextField()
    answer = models.TextField(blank=True)
    answered_at = models.DateTimeField(null=True)
    answered_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")

    objects = QuestionQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "code", "field"],
                condition=~Q(inspection=None),
                name="a_question_is_opened_once_an_inspection",
            ),
            models.UniqueConstraint(
                fields=["position", "code", "field"],
                condition=Q(inspection=None) & ~Q(position=None),
                name="a_question_is_opened_once_a_position",
            ),
        ]

    def __str__(self):
        return f"{self.code}: {self.text}"
