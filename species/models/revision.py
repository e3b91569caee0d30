"""What was known of a species at one time."""

from django.db import models
from django.db.models.functions import Now


class ProfileRevision(models.Model):
    """A published profile, whole. Never changed: plans and assessments name the revision they used.

    ``changes`` lists ``{"pointer", "before", "after"}`` since the revision before; empty in the first.
    """

    profile = models.ForeignKey("species.SpeciesProfile", on_delete=models.CASCADE, related_name="revisions")
    number = models.PositiveIntegerField()
    document = models.JSONField()
    digest = models.CharField(max_length=64, help_text="SHA-256 of the document.")
    pack_key = models.CharField(max_length=80)
    pack_version = models.CharField(max_length=40)
    published_at = models.DateTimeField(db_default=Now())
    note = models.TextField(blank=True)
    changes = models.JSONField(default=list)

    class Meta:
        ordering = ("profile", "-number")
        constraints = [
            models.UniqueConstraint(fields=("profile", "number"), name="one_revision_of_a_number"),
            models.CheckConstraint(condition=models.Q(number__gte=1), name="revisions_count_from_one"),
        ]

    def __str__(self) -> str:
        return f"{self.profile_id} revision {self.number}"
