"""Work that outlives a request, and the files it starts from."""

from django.conf import settings
from django.db import models

from fleet.models.base import Keeping, SiteQuerySet


class Upload(models.Model):
    """A file somebody sent, kept as it came, with what reading it said."""

    keeping = Keeping.MUTABLE
    is_audited = False
    site_path = "site"

    site = models.ForeignKey("fleet.Site", models.PROTECT, null=True, related_name="uploads")
    file = models.FileField(upload_to="uploads/")
    name = models.CharField(max_length=200)
    size = models.BigIntegerField()
    sha256 = models.CharField(max_length=64)
    uploaded_at = models.DateTimeField()
    uploaded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="uploads"
    )

    objects = SiteQuerySet.as_manager()

    def __str__(self):
        return self.name


class Job(models.Model):
    """One piece of background work: claimed once, beating while it runs, cancelled when asked."""

    keeping = Keeping.MUTABLE
    is_audited = False
    site_path = "upload__site"

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        RUNNING = "running", "running"
        DONE = "done", "done"
        FAILED = "failed", "failed"
        CANCELLED = "cancelled", "cancelled"

    kind = models.CharField(max_length=40)
    arguments = models.JSONField(default=dict)
    upload = models.ForeignKey(Upload, models.CASCADE, null=True, related_name="jobs")
    state = models.CharField(max_length=20, choices=State, default=State.WAITING)
    token = models.CharField(max_length=36, blank=True)
    is_cancel_asked = models.BooleanField(default=False)
    done_count = models.IntegerField(default=0)
    total_count = models.IntegerField(default=0)
    doing = models.CharField(max_length=120, blank=True)
    result = models.JSONField(default=dict)
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="jobs")
    beat_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)

    objects = SiteQuerySet.as_manager()

    def __str__(self):
        return f"{self.kind} {self.pk}: {self.state}"
