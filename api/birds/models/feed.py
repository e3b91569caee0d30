"""What a bird was given."""

from django.db import models

from api.birds.models.words import known_words, word_field
from api.birds.rules.words import Purpose, Response
from api.tenancy.models import NetworkRecord
from species.domain.vocabulary import Method


class Feed(NetworkRecord):
    """One feed, or with ``count`` and ``until`` a run of small ones, such as twelve between 08:00 and 14:00."""

    KIND = "feed"
    TOLD = (
        "bird_id",
        "at",
        "until",
        "count",
        "purpose",
        "food",
        "volume_ml",
        "mass_g",
        "dry_matter_fraction",
        "temperature_c",
        "method",
        "response",
        "note",
    )

    bird = models.ForeignKey("birds.Bird", on_delete=models.PROTECT, related_name="feeds")
    at = models.DateTimeField()
    until = models.DateTimeField(null=True, blank=True)
    count = models.PositiveSmallIntegerField(default=1)
    purpose = word_field(Purpose, default=Purpose.ROUTINE)
    food = models.CharField(max_length=80, null=True, blank=True)  # noqa: DJ001 - null is "not told" everywhere
    volume_ml = models.DecimalField(max_digits=7, decimal_places=3, null=True, blank=True)
    mass_g = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    dry_matter_fraction = models.FloatField(null=True, blank=True)
    #: In the syringe.
    temperature_c = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    method = word_field(Method, null=True, blank=True)
    response = word_field(Response, null=True, blank=True)
    note = models.CharField(max_length=2000, blank=True)

    class Meta(NetworkRecord.Meta):
        ordering = ["at", "row"]
        constraints = [
            models.UniqueConstraint(fields=["network", "uid"], name="feed_id_once"),
            *known_words("feed", purpose=Purpose, method=Method, response=Response),
        ]
        indexes = [
            models.Index(fields=["bird", "at"], name="feed_of_bird"),
            models.Index(fields=["network", "at", "uid"], name="feed_by_time"),
        ]

    def __str__(self) -> str:
        return f"{self.bird}: feed at {self.at:%Y-%m-%d %H:%M} UTC"
