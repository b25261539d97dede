"""What the bench keeps beside readings: edits as typed, photos, papers, contact checks."""

from django.db import models

from fleet.models.base import Keeping, LooseQuerySet


class FieldEdit(models.Model):
    """One field as somebody typed it at the bench, whole or not: nothing typed is ever lost.

    Appended as it arrives, once for each `uuid`, however often a tablet sends it. It is a note on
    the way into the record and proves nothing: the saved step is what is audited. `base_version`:
    the version of the record that the page showed; `typed_at`: by the tablet's clock, which may
    be wrong, and empty where the row says that nothing is left unsaved in this field: it was saved
    or dropped.
    """

    keeping = Keeping.DATED_FACT
    is_audited = False
    site_path = "inspection__site"

    uuid = models.UUIDField(unique=True)
    inspection = models.ForeignKey("inspections.Inspection", models.PROTECT, related_name="edits")
    step = models.CharField(max_length=20)
    field = models.CharField(max_length=80)
    typed = models.TextField(blank=True)
    base_version = models.PositiveIntegerField()
    typed_by = models.ForeignKey("fleet.User", models.PROTECT, related_name="+")
    typed_at = models.DateTimeField(null=True)
    received_at = models.DateTimeField()

    objects = LooseQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["inspection", "step", "field", "id"], name="insp_edit_field"),
        ]

    def __str__(self):
        return f"{self.inspection} {self.step} {self.field}"


class KeptFile(models.Model):
    """A file of a record, under its own digest; it is served through a permission check alone.

    sha256: of the stored file, and its name.
    """

    keeping = Keeping.LOCKED
    locked_with = "inspection"
    site_path = "inspection__site"

    sha256 = models.CharField(max_length=64)
    kind = models.CharField("media type", max_length=40)
    size = models.PositiveIntegerField("bytes")
    received_at = models.DateTimeField()

    objects = LooseQuerySet.as_manager()

    class Meta:
        abstract = True
        ordering = ["pk"]


class Photo(KeptFile):
    """A picture of the job, resized and without what the camera wrote into it."""

    inspection = models.ForeignKey("inspections.Inspection", models.CASCADE, related_name="photos")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    step = models.CharField(max_length=20, blank=True)
    caption = models.CharField(max_length=200, blank=True)
    taken_by = models.ForeignKey("fleet.User", models.PROTECT, related_name="+")

    class Meta(KeptFile.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "sha256"], name="a_photo_is_kept_once_a_record"
            ),
        ]

    def __str__(self):
        return f"{self.inspection}: {self.caption or self.sha256[:12]}"

    @property
    def stored_at(self) -> str:
        """Its file, beneath MEDIA_ROOT; the proof looks there for what its digest says."""
        return f"photos/{self.sha256[:2]}/{self.sha256}.jpg"

    @property
    def small_at(self) -> str:
        return f"photos/{self.sha256[:2]}/{self.sha256}.small.jpg"


class Document(KeptFile):
    """A paper that belongs to the record, as it came: an outside shop's certificate."""

    inspection = models.ForeignKey(
        "inspections.Inspection", models.CASCADE, related_name="documents"
    )
    name = models.CharField("file name as it came", max_length=200)
    added_by = models.ForeignKey("fleet.User", models.PROTECT, related_name="+")

    class Meta(KeptFile.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "sha256"], name="a_document_is_kept_once_a_record"
            ),
        ]

    def __str__(self):
        return f"{self.inspection}: {self.name}"

    @property
    def stored_at(self) -> str:
        """Its file, beneath MEDIA_ROOT; the proof looks there for what its digest says."""
        return f"documents/{self.sha256[:2]}/{self.sha256}"


class ContactCheck(models.Model):
    """One contact check of the seat with marking blue: an unbroken ring passes, and only then
    does the counted loop of lap and re-check end."""

    keeping = Keeping.LOCKED
    locked_with = "inspection"
    site_path = "inspection__site"

    inspection = models.ForeignKey(
        "inspections.Inspection", models.CASCADE, related_name="contact_checks"
    )
    order = models.PositiveSmallIntegerField(default=1)
    is_unbroken = models.BooleanField("unbroken ring")
    note = models.CharField("what was done about it", max_length=200, blank=True)

    objects = LooseQuerySet.as_manager()

    class Meta:
        ordering = ["order"]
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "order"], name="contact_checks_are_in_order"
            ),
        ]

    def __str__(self):
        return f"{self.inspection} contact check {self.order}"
