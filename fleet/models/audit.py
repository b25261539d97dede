"""The proof: one gapless hash chain over every change."""

from django.db import models

from fleet.models.base import Keeping


class AuditEntry(models.Model):
    """One change of one aggregate. `after` is canonical JSON; `digest` covers every other field."""

    keeping = Keeping.DATED_FACT
    is_audited = False

    number = models.BigIntegerField(primary_key=True)
    previous = models.CharField(max_length=64)
    digest = models.CharField(max_length=64)
    at = models.DateTimeField()
    by = models.ForeignKey("fleet.User", models.PROTECT, related_name="+")
    action = models.CharField(max_length=60)
    aggregate = models.CharField(max_length=120, db_index=True)
    after = models.TextField()

    class Meta:
        ordering = ["number"]

    def __str__(self):
        return f"{self.number} {self.action} {self.aggregate}"


class AuditHead(models.Model):
    """Where the chain ends: one row, locked last in every writing transaction."""

    keeping = Keeping.MUTABLE
    is_audited = False

    number = models.BigIntegerField(default=0)
    digest = models.CharField(max_length=64, default="0" * 64)

    def __str__(self):
        return f"head at {self.number}"
