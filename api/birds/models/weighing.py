"""A bird on the scale."""

from django.db import models

from api.birds.models.words import known_words, word_field
from api.birds.rules.words import Context, WeighingState
from api.tenancy.models import NetworkRecord


class Weighing(NetworkRecord):
    """One weight. What cannot be the bird's is questioned, not refused: the scale was read, and somebody must look."""

    KIND = "weighing"
    TOLD = ("bird_id", "at", "mass_g", "context", "scale_step_g", "state", "question", "note")

    bird = models.ForeignKey("birds.Bird", on_delete=models.PROTECT, related_name="weighings")
    at = models.DateTimeField()
    mass_g = models.DecimalField(max_digits=9, decimal_places=3)
    context = word_field(Context, default=Context.UNKNOWN)
    scale_step_g = models.DecimalField(max_digits=7, decimal_places=3, null=True, blank=True)
    state = word_field(WeighingState, default=WeighingState.ACCEPTED)
    #: Why it is questioned: expected_g, and meant_g where a slip of the pen explains it.
    question = models.JSONField(null=True, blank=True)
    note = models.CharField(max_length=2000, blank=True)

    class Meta(NetworkRecord.Meta):
        ordering = ["at", "row"]
        constraints = [
            models.UniqueConstraint(fields=["network", "uid"], name="weighing_id_once"),
            models.CheckConstraint(condition=models.Q(mass_g__gt=0), name="weighing_mass_above_0"),
            *known_words("weighing", context=Context, state=WeighingState),
        ]
        indexes = [
            models.Index(fields=["bird", "at"], name="weighing_of_bird"),
            models.Index(fields=["network", "at", "uid"], name="weighing_by_time"),
        ]

    def __str__(self) -> str:
        return f"{self.bird}: {self.mass_g} g"
