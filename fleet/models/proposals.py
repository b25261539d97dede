"""What ought to be looked at: proposals that wait for a named person, and leave that was asked."""

from django.db import models
from django.db.models import F, Q

from fleet.models.base import Keeping, Recorded, SiteQuerySet
from fleet.models.obligations import Deferral


class ProposalQuerySet(SiteQuerySet):
    def open_on(self, day, known_at=None):
        """Raised by that day, and not answered by then; one that was withdrawn never was.

        known_at: only what was written down by then; None = what is known now.
        """
        rows = self.filter(raised_on__lte=day)
        withdrawn = Q(answer="withdrawn")
        unanswered = Q(answered_on=None) | Q(answered_on__gt=day) & ~withdrawn
        if known_at is not None:
            rows = rows.filter(recorded_at__lte=known_at)
            unanswered |= Q(answered_at__gt=known_at)
        return rows.filter(unanswered)


class Proposal(Recorded):
    """Something happened that may call for another interval; nothing follows by itself.

    source: the record or change it comes from. A named person accepts it, with an interval
    decision, or declines it with a reason; one whose cause was corrected is withdrawn.
    """

    keeping = Keeping.DATED_FACT
    closes = (
        ("answered_on", "answered_at", "answered_by_id", "answer", "answer_words", "decision_id"),
    )
    site_path = "position__site"

    class Kind(models.TextChoices):
        AS_RECEIVED_FAILURE = "as_received_failure", "as-received failure"
        WAIVED_TEST = "waived_test", "waived test"
        REPEATED_FAILURE = "repeated_failure", "repeated failure"
        NEW_SET_PRESSURE = "new_set_pressure", "new set pressure"
        NEW_SERVICE = "new_service", "new service"

    class Answer(models.TextChoices):
        ACCEPTED = "accepted", "accepted"
        DECLINED = "declined", "declined"
        WITHDRAWN = "withdrawn", "withdrawn"

    position = models.ForeignKey("fleet.Position", models.PROTECT, related_name="proposals")
    kind = models.CharField(max_length=20, choices=Kind)
    reason = models.TextField()
    source = models.CharField(max_length=120)
    raised_on = models.DateField()
    answered_on = models.DateField(null=True)
    answered_at = models.DateTimeField(null=True)
    answered_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")
    answer = models.CharField(max_length=20, choices=Answer, blank=True)
    answer_words = models.TextField(blank=True)
    decision = models.ForeignKey(
        "fleet.IntervalDecision", models.PROTECT, null=True, related_name="proposals"
    )

    objects = ProposalQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["position", "raised_on"], name="fleet_proposal_position"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["position", "kind", "source"], name="a_cause_is_proposed_once"
            ),
        ]

    def __str__(self):
        return f"{self.kind} at {self.position}: {self.source}"


class DeferralRequestQuerySet(SiteQuerySet):
    def waiting(self):
        """Not answered yet."""
        return self.filter(answered_at=None)


class DeferralRequest(Recorded):
    """Leave asked to pass a due date. Another person answers; approved, it becomes a deferral."""

    keeping = Keeping.DATED_FACT
    closes = (("answered_at", "answered_by_id", "answer", "answer_words", "deferral_id"),)
    site_path = "obligation__position__site"

    class Answer(models.TextChoices):
        APPROVED = "approved", "approved"
        REFUSED = "refused", "refused"

    obligation = models.ForeignKey(
        "fleet.Obligation", models.PROTECT, related_name="deferral_requests"
    )
    due_on = models.DateField("the due date it would pass")
    until_on = models.DateField()
    policy = models.CharField(max_length=20, choices=Deferral.Policy)
    reason = models.TextField()
    interim_measure = models.TextField(blank=True)
    document = models.CharField(max_length=200, blank=True)
    notified_on = models.DateField(null=True)
    requested_on = models.DateField()
    answered_at = models.DateTimeField(null=True)
    answered_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")
    answer = models.CharField(max_length=20, choices=Answer, blank=True)
    answer_words = models.TextField(blank=True)
    deferral = models.OneToOneField(Deferral, models.PROTECT, null=True, related_name="request")

    objects = DeferralRequestQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(until_on__gt=F("due_on")), name="leave_is_asked_past_the_due_date"
            ),
        ]

    def __str__(self):
        return f"{self.due_on} to {self.until_on} asked ({self.policy})"
