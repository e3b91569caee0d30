"""A bird in care, from intake to outcome."""

from typing import Any

from django.db import models

from api.birds.models.words import known_words, word_field
from api.birds.rules.words import Aim, Certainty, Isolation, Origin, OutcomeKind, Rearing, Sex
from api.tenancy.models import NetworkRecord


class Bird(NetworkRecord):
    """One bird. Its species is a profile's key, or what is known of a species without one."""

    KIND = "bird"
    TOLD = (
        "name",
        "site_id",
        "species",
        "unlisted_species",
        "species_certainty",
        "mark",
        "sex",
        "strain",
        "adult_mass_g",
        "hatched_on",
        "hatched_at",
        "age_estimate",
        "intake",
        "origin",
        "aim",
        "rearing",
        "brood_size",
        "isolation",
        "formula_key",
        "note",
        "outcome",
    )

    site = models.ForeignKey("networks.Site", on_delete=models.PROTECT, related_name="birds")
    name = models.CharField(max_length=100)
    species = models.CharField(max_length=80, null=True, blank=True)  # noqa: DJ001 - null is "not told" everywhere
    #: scientific_name, order, adult_mass_g, developmental_mode, food_guild.
    unlisted_species = models.JSONField(null=True, blank=True)
    species_certainty = word_field(Certainty, default=Certainty.CERTAIN)
    #: kind, colour, code.
    mark = models.JSONField(null=True, blank=True)
    sex = word_field(Sex, default=Sex.UNKNOWN)
    strain = models.CharField(max_length=80, null=True, blank=True)  # noqa: DJ001
    adult_mass_g = models.FloatField(null=True, blank=True)
    hatched_on = models.DateField(null=True, blank=True)
    hatched_at = models.DateTimeField(null=True, blank=True)
    #: on, days, sd_days.
    age_estimate = models.JSONField(null=True, blank=True)
    intake_at = models.DateTimeField()
    intake_reason = models.CharField(max_length=200, blank=True)
    intake_located_at = models.CharField(max_length=200, blank=True)
    intake_finder_fed = models.CharField(max_length=200, blank=True)
    origin = word_field(Origin, default=Origin.UNKNOWN)
    aim = word_field(Aim, default=Aim.UNDECIDED)
    rearing = word_field(Rearing, default=Rearing.HAND)
    brood_size = models.PositiveSmallIntegerField(null=True, blank=True)
    isolation = word_field(Isolation, default=Isolation.NONE)
    formula_key = models.CharField(max_length=80, null=True, blank=True)  # noqa: DJ001
    note = models.CharField(max_length=2000, blank=True)
    outcome_kind = word_field(OutcomeKind, null=True, blank=True)
    outcome_at = models.DateTimeField(null=True, blank=True)
    #: causes, cause_certainty, release, note.
    outcome_told = models.JSONField(null=True, blank=True)

    class Meta(NetworkRecord.Meta):
        ordering = ["name", "row"]
        constraints = [
            models.UniqueConstraint(fields=["network", "uid"], name="bird_id_once"),
            models.CheckConstraint(
                condition=models.Q(outcome_kind__isnull=True, outcome_at__isnull=True)
                | models.Q(outcome_kind__isnull=False, outcome_at__isnull=False),
                name="bird_outcome_whole",
                violation_error_message="An outcome has a kind and a time.",
            ),
            *known_words(
                "bird",
                species_certainty=Certainty,
                sex=Sex,
                origin=Origin,
                aim=Aim,
                rearing=Rearing,
                isolation=Isolation,
                outcome_kind=OutcomeKind,
            ),
        ]
        indexes = [
            models.Index(fields=["network", "site"], condition=models.Q(outcome_at__isnull=True), name="bird_in_care"),
            models.Index(fields=["network", "outcome_at"], name="bird_by_outcome"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def intake(self) -> dict[str, Any]:
        """When it came, why, from where, and what its finder fed it."""
        return {
            "at": self.intake_at,
            "reason": self.intake_reason or None,
            "located_at": self.intake_located_at or None,
            "finder_fed": self.intake_finder_fed or None,
        }

    @property
    def outcome(self) -> dict[str, Any] | None:
        """How and when it left care; none while it is here."""
        if self.outcome_kind is None:
            return None
        return {"kind": self.outcome_kind, "at": self.outcome_at, **(self.outcome_told or {})}

    @property
    def in_care(self) -> bool:
        return self.outcome_kind is None
