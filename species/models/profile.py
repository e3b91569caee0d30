"""A species, under the key it has today."""

from django.db import models


class SpeciesProfile(models.Model):
    """What lists and searches need of a species; all else stands in its current revision.

    ``vernacular_names`` is a list of ``{"name", "language"}``, ``synonyms`` a list of scientific names.
    """

    key = models.CharField(max_length=120, unique=True)
    pack = models.ForeignKey("species.LoadedPack", on_delete=models.PROTECT, related_name="profiles")
    scientific_name = models.CharField(max_length=120)
    vernacular_names = models.JSONField()
    synonyms = models.JSONField()
    order = models.CharField(max_length=60)
    family = models.CharField(max_length=60)
    food_guild = models.CharField(max_length=30)
    developmental_mode = models.CharField(max_length=30)
    feeding_kind = models.CharField(max_length=30)
    evidence = models.CharField(max_length=30)
    adult_g = models.FloatField()
    retired = models.BooleanField(
        default=False, help_text="No longer in its pack. Birds and plans that use it keep it."
    )
    current = models.ForeignKey(
        "species.ProfileRevision", on_delete=models.PROTECT, null=True, related_name="+", editable=False
    )

    class Meta:
        ordering = ("order", "family", "scientific_name", "key")

    def __str__(self) -> str:
        return self.key


class FormerKey(models.Model):
    """A key that a species had before; addresses with it lead on to the one of today."""

    key = models.CharField(max_length=120, unique=True)
    profile = models.ForeignKey(SpeciesProfile, on_delete=models.CASCADE, related_name="former_keys")

    class Meta:
        ordering = ("key",)

    def __str__(self) -> str:
        return self.key
