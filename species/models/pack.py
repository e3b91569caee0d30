"""What was loaded of a pack besides its profiles."""

from django.db import models
from django.db.models.functions import Now


class LoadedPack(models.Model):
    """A pack as it was last loaded."""

    key = models.CharField(max_length=80, unique=True)
    version = models.CharField(max_length=40)
    title = models.CharField(max_length=200)
    licence = models.CharField(max_length=80)
    loaded_at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ("key",)

    def __str__(self) -> str:
        return f"{self.key} {self.version}"


class PackEntry(models.Model):
    """A source, powder or food of a pack. One that left its pack stays for old revisions, retired."""

    class Kind(models.TextChoices):
        SOURCE = "source", "source"
        FORMULA = "formula", "powder"
        FOOD = "food", "food"

    pack = models.ForeignKey(LoadedPack, on_delete=models.PROTECT, related_name="entries")
    kind = models.CharField(max_length=8, choices=Kind)
    key = models.CharField(max_length=80)
    document = models.JSONField()
    retired = models.BooleanField(default=False)

    class Meta:
        ordering = ("kind", "key")
        verbose_name_plural = "pack entries"
        constraints = [models.UniqueConstraint(fields=("pack", "kind", "key"), name="one_entry_of_a_key_in_a_pack")]
        indexes = [models.Index(fields=("kind", "key"), name="pack_entry_by_key")]

    def __str__(self) -> str:
        return f"{self.kind} {self.key}"
