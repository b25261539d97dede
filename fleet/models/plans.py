"""Which outage takes which work: plans as proposed and accepted, and what people settle by hand."""

from django.db import models
from django.db.models import F, Q

from fleet.models.base import Keeping, Recorded, SiteQuerySet


class PlanQuerySet(SiteQuerySet):
    def accepted(self):
        return self.filter(accepted_at__isnull=False)

    def in_force(self):
        """The last accepted plan of each site: the one nothing accepted follows."""
        followed = self.model.objects.accepted().exclude(follows=None).values("follows")
        return self.accepted().exclude(pk__in=followed)


class Plan(Recorded):
    """One assignment of a site's work to its outages, asked for by a planner, then solved.

    follows: the plan that was in force when this one was asked for. Accepted plans make one chain
    a site, so that two accepted at once are refused by the database. goals: [{name, value, bound,
    proved}, ...] in strict order; prices: {outage id: {days, lines}} that one more bench hour
    would save, or let in.
    checks: [{kind, words, positions, on, grave}, ...], what the proposal does not say by itself.
    entry: the last entry of the audit chain the proposal had seen. digest: SHA-256 of its rows.
    """

    keeping = Keeping.LOCKED
    locked_by = "accepted_at"
    site_path = "site"

    site = models.ForeignKey("fleet.Site", models.PROTECT, related_name="plans")
    from_on = models.DateField("work due from")
    to_on = models.DateField("work due up to")
    follows = models.ForeignKey("self", models.PROTECT, null=True, related_name="followed_by")
    job = models.OneToOneField("fleet.Job", models.SET_NULL, null=True, related_name="plan")
    proposed_at = models.DateTimeField(null=True)
    entry = models.BigIntegerField(default=0)
    digest = models.CharField(max_length=64, blank=True)
    solver_status = models.CharField(max_length=20, blank=True)
    goals = models.JSONField(default=list)
    prices = models.JSONField(default=dict)
    checks = models.JSONField(default=list)
    seconds = models.DecimalField(max_digits=8, decimal_places=2, null=True)
    accepted_at = models.DateTimeField(null=True)
    accepted_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")
    note = models.TextField(blank=True)

    objects = PlanQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(to_on__gte=F("from_on")), name="a_plan_ends_after_it_begins"
            ),
            models.UniqueConstraint(
                fields=["follows"],
                condition=Q(accepted_at__isnull=False),
                name="one_accepted_plan_follows_another",
            ),
            models.UniqueConstraint(
                fields=["site"],
                condition=Q(accepted_at__isnull=False, follows=None),
                name="a_site_has_one_first_accepted_plan",
            ),
            models.CheckConstraint(
                condition=Q(accepted_at=None, accepted_by=None)
                | Q(accepted_at__isnull=False, accepted_by__isnull=False)
                & Q(proposed_at__isnull=False),
                name="who_accepts_a_plan_is_named",
            ),
        ]

    def __str__(self):
        return f"plan {self.pk} of {self.site}, {self.from_on} to {self.to_on}"


class PlannedJob(models.Model):
    """One line of a plan: what is owed, and the outage or week that takes it.

    covered_by: the larger activity of the same visit that does this one too; its hours are 0.
    order_on: due_on; the first day of all for what has no date. Lines are written by tag, so that
    the primary key sorts by tag. hours: None where nobody has said what the work takes.
    days_given_up: None without a due date.
    """

    keeping = Keeping.LOCKED
    locked_with = "plan"
    is_audited = False  # proved by the plan's digest
    site_path = "plan__site"

    class Status(models.TextChoices):
        PLACED = "placed", "in an outage"
        ONLINE = "online", "on stream"
        LATE = "late", "late, inside its deferral"
        NO_OPPORTUNITY = "no_opportunity", "no opportunity"

    plan = models.ForeignKey(Plan, models.CASCADE, related_name="jobs")
    position = models.ForeignKey("fleet.Position", models.PROTECT, related_name="+")
    obligation = models.ForeignKey("fleet.Obligation", models.PROTECT, related_name="+")
    unit = models.ForeignKey("fleet.Unit", models.PROTECT, related_name="+")
    device = models.ForeignKey("fleet.Device", models.PROTECT, null=True, related_name="+")
    activity = models.CharField(max_length=20)
    due_on = models.DateField(null=True)
    order_on = models.DateField()
    deferred_until = models.DateField(null=True)
    severity = models.CharField(max_length=20, blank=True)
    covered_by = models.CharField(max_length=20, blank=True)
    hours = models.DecimalField(max_digits=6, decimal_places=2, null=True)
    status = models.CharField(max_length=20, choices=Status)
    outage = models.ForeignKey("fleet.Outage", models.PROTECT, null=True, related_name="planned")
    planned_on = models.DateField(null=True)
    days_given_up = models.IntegerField(null=True)
    days_late = models.IntegerField(default=0)
    reason = models.TextField(blank=True)

    objects = SiteQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["plan", "status", "unit", "id"], name="fleet_planned_status"),
            models.Index(fields=["plan", "order_on", "id"], name="fleet_planned_order"),
            models.Index(fields=["plan", "outage", "id"], name="fleet_planned_outage"),
            models.Index(fields=["plan", "position"], name="fleet_planned_position"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["plan", "obligation"], name="a_plan_places_what_is_owed_once"
            ),
            models.CheckConstraint(
                condition=Q(status="no_opportunity", planned_on=None, outage=None)
                | Q(status="online", planned_on__isnull=False, outage=None)
                | Q(status__in=("placed", "late"), planned_on__isnull=False, outage__isnull=False),
                name="what_is_placed_has_a_day_and_its_place",
            ),
        ]

    def __str__(self):
        return (
            f"{self.activity} at {self.position}: {self.outage or self.planned_on or self.status}"
        )


class StandingQuerySet(SiteQuerySet):
    def standing(self):
        """Not lifted."""
        return self.filter(lifted_at=None)


class HandPlacing(Recorded):
    """A planner's own word on one position and one outage, which the proposal obeys."""

    keeping = Keeping.DATED_FACT
    closes = (("lifted_at", "lifted_by_id"),)
    site_path = "outage__site"

    class Kind(models.TextChoices):
        PIN = "pin", "pinned to"
        BAR = "bar", "barred from"

    position = models.ForeignKey("fleet.Position", models.PROTECT, related_name="hand_placings")
    outage = models.ForeignKey("fleet.Outage", models.PROTECT, related_name="hand_placings")
    kind = models.CharField(max_length=5, choices=Kind)
    reason = models.TextField()
    lifted_at = models.DateTimeField(null=True)
    lifted_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")

    objects = StandingQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["position"],
                condition=Q(kind="pin", lifted_at=None),
                name="a_position_is_pinned_to_one_outage",
            ),
            models.UniqueConstraint(
                fields=["position", "outage"],
                condition=Q(lifted_at=None),
                name="a_position_is_pinned_to_an_outage_or_barred_from_it",
            ),
        ]

    def __str__(self):
        return f"{self.position} {self.get_kind_display()} {self.outage}"

    @property
    def words(self) -> str:
        """The reason, to stand inside a sentence."""
        return self.reason.strip().rstrip(".")


class LateScopeQuerySet(SiteQuerySet):
    def waiting(self):
        return self.filter(answered_at=None)

    def approved(self):
        return self.filter(answer=LateScope.Answer.APPROVED)


class LateScope(Recorded):
    """Work asked into an outage after its scope was frozen. Another person answers."""

    keeping = Keeping.DATED_FACT
    closes = (("answered_at", "answered_by_id", "answer", "answer_words"),)
    site_path = "outage__site"

    class Answer(models.TextChoices):
        APPROVED = "approved", "approved"
        REFUSED = "refused", "refused"

    outage = models.ForeignKey("fleet.Outage", models.PROTECT, related_name="late_scope")
    position = models.ForeignKey("fleet.Position", models.PROTECT, related_name="late_scope")
    reason = models.TextField()
    answered_at = models.DateTimeField(null=True)
    answered_by = models.ForeignKey("fleet.User", models.PROTECT, null=True, related_name="+")
    answer = models.CharField(max_length=20, choices=Answer, blank=True)
    answer_words = models.TextField(blank=True)

    objects = LateScopeQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["outage", "position"],
                condition=~Q(answer="refused"),
                name="late_scope_is_asked_for_once",
            ),
        ]

    def __str__(self):
        return f"{self.position} into {self.outage}: {self.answer or 'waiting'}"


class Feed(models.Model):
    """A private address at which a calendar reads due dates and outages, until it is revoked.

    digest: SHA-256 of the secret in the address, which is shown once and kept nowhere.
    """

    keeping = Keeping.MUTABLE
    site_path = "site"

    user = models.ForeignKey("fleet.User", models.PROTECT, related_name="feeds")
    site = models.ForeignKey("fleet.Site", models.PROTECT, related_name="feeds")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)

    objects = SiteQuerySet.as_manager()

    def __str__(self):
        return f"calendar of {self.user} for {self.site}"
