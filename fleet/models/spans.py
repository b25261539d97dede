"""What the replay answered: spans over time, and the line of today that lists sort on."""

from django.db import models
from django.db.models import Q

from fleet.models.base import Keeping, SiteQuerySet


class SpanState(models.TextChoices):
    DATED = "dated", "dated"
    NO_DEVICE = "no_device", "no device fitted"
    NO_RECORD = "no_record", "no record"
    INTERVAL_NOT_SET = "interval_not_set", "interval not set"
    NOT_REQUIRED = "not_required", "not required"
    WAITING = "waiting", "nothing called for"  # owed only once something has happened
    NO_OBLIGATION = "no_obligation", "nothing listed"  # a due line only, never a span


class ObligationSpanQuerySet(SiteQuerySet):
    def known(self, moment=None):
        """What the ledger held: now, or at a past moment."""
        if moment is None:
            return self.filter(superseded_at=None)
        return self.filter(recorded_at__lte=moment).filter(
            Q(superseded_at=None) | Q(superseded_at__gt=moment)
        )

    def on(self, day):
        """The span that holds on a day: half-open."""
        return self.filter(from_on__lte=day).filter(Q(until_on=None) | Q(until_on__gt=day))


class ObligationSpan(models.Model):
    """Over [from_on, until_on) this was the answer. Append-only; superseded, never rewritten."""

    keeping = Keeping.DATED_FACT
    closes = (("superseded_at",),)
    is_audited = False  # proved by replay, not by the chain
    site_path = "obligation__position__site"

    obligation = models.ForeignKey("fleet.Obligation", models.PROTECT, related_name="spans")
    from_on = models.DateField()
    until_on = models.DateField(null=True)
    state = models.CharField(max_length=20, choices=SpanState)
    due_on = models.DateField(null=True)
    target_on = models.DateField(null=True)
    last_on = models.DateField("the day it counts from", null=True)
    event = models.ForeignKey("fleet.ServiceEvent", models.PROTECT, null=True, related_name="spans")
    decision = models.ForeignKey(
        "fleet.IntervalDecision", models.PROTECT, null=True, related_name="+"
    )
    device = models.ForeignKey("fleet.Device", models.PROTECT, null=True, related_name="+")
    limit = models.CharField("the limit that binds", max_length=20, blank=True)
    recorded_at = models.DateTimeField()
    superseded_at = models.DateTimeField(null=True)

    objects = ObligationSpanQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["obligation", "from_on"], name="fleet_span_obligation"),
        ]

    def __str__(self):
        return f"{self.obligation}: {self.due_on or self.state} from {self.from_on}"


class DueLine(models.Model):
    """Today's line of the due list: the open span of one obligation, or a position that owes
    nothing yet. Stamped by `fleet.ledger` alone and rebuilt at will; it proves nothing.

    order_on: due_on; the first day of all for what has no date; the last for what needs none.
    holds_until: the day another answer begins, known already (a decision or an obligation that
    begins or ends later); from that day on the line is stale until it is stamped again.
    """

    keeping = Keeping.MUTABLE
    is_audited = False
    site_path = "site"

    site = models.ForeignKey("fleet.Site", models.PROTECT, related_name="+")
    unit = models.ForeignKey("fleet.Unit", models.PROTECT, related_name="+")
    position = models.ForeignKey("fleet.Position", models.PROTECT, related_name="due_lines")
    obligation = models.OneToOneField(
        "fleet.Obligation", models.PROTECT, null=True, related_name="line"
    )
    span = models.ForeignKey(ObligationSpan, models.PROTECT, null=True, related_name="+")
    device = models.ForeignKey("fleet.Device", models.PROTECT, null=True, related_name="+")
    tag = models.CharField(max_length=80)
    activity = models.CharField(max_length=20, blank=True)
    state = models.CharField(max_length=20, choices=SpanState)
    due_on = models.DateField(null=True)
    target_on = models.DateField(null=True)
    last_on = models.DateField(null=True)
    deferred_until = models.DateField(null=True)
    order_on = models.DateField()
    holds_until = models.DateField(null=True)

    objects = SiteQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["order_on", "id"], name="fleet_line_order"),
            models.Index(fields=["site", "order_on", "id"], name="fleet_line_site"),
            models.Index(fields=["unit", "order_on", "id"], name="fleet_line_unit"),
            models.Index(fields=["site", "tag", "id"], name="fleet_line_tag"),
            models.Index(fields=["site", "state", "due_on"], name="fleet_line_state"),
            models.Index(fields=["site", "holds_until"], name="fleet_line_holds"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["position"],
                condition=Q(obligation=None),
                name="a_bare_position_has_one_line",
            ),
        ]

    def __str__(self):
        return f"{self.tag} {self.activity}: {self.due_on or self.state}"
