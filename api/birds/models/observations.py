"""What was seen of a bird: its crop, and the visible steps of its development."""

from django.db import models

from api.birds.models.words import known_words, word_field
from api.birds.rules.words import Crop, CropContent, CropWall
from api.tenancy.models import NetworkRecord
from species.domain.vocabulary import MilestoneKey


class CropCheck(NetworkRecord):
    """A look at the crop. ``last_feed_at`` is as the carer told it; the record's last feed stands in where empty."""

    KIND = "crop_check"
    TOLD = ("bird_id", "at", "crop", "crop_content", "crop_wall", "last_feed_at", "note")

    bird = models.ForeignKey("birds.Bird", on_delete=models.PROTECT, related_name="crop_checks")
    at = models.DateTimeField()
    crop = word_field(Crop)
    crop_content = word_field(CropContent, null=True, blank=True)
    crop_wall = word_field(CropWall, null=True, blank=True)
    last_feed_at = models.DateTimeField(null=True, blank=True)
    note = models.CharField(max_length=2000, blank=True)

    class Meta(NetworkRecord.Meta):
        ordering = ["at", "row"]
        constraints = [
            models.UniqueConstraint(fields=["network", "uid"], name="cropcheck_id_once"),
            *known_words("cropcheck", crop=Crop, crop_content=CropContent, crop_wall=CropWall),
        ]
        indexes = [
            models.Index(fields=["bird", "at"], name="crop_check_of_bird"),
            models.Index(fields=["network", "at", "uid"], name="crop_check_by_time"),
        ]

    def __str__(self) -> str:
        return f"{self.bird}: crop {self.crop}"


class Milestone(NetworkRecord):
    """A visible step of development, seen at ``observed_at`` or, with ``seen`` false, looked for and not seen."""

    KIND = "milestone"
    TOLD = ("bird_id", "key", "seen", "observed_at", "last_absent_at", "note")

    bird = models.ForeignKey("birds.Bird", on_delete=models.PROTECT, related_name="milestones")
    key = word_field(MilestoneKey)
    seen = models.BooleanField(default=True)
    observed_at = models.DateTimeField()
    last_absent_at = models.DateTimeField(null=True, blank=True)
    note = models.CharField(max_length=2000, blank=True)

    class Meta(NetworkRecord.Meta):
        ordering = ["observed_at", "row"]
        constraints = [
            models.UniqueConstraint(fields=["network", "uid"], name="milestone_id_once"),
            *known_words("milestone", key=MilestoneKey),
        ]
        indexes = [
            models.Index(fields=["bird", "observed_at"], name="milestone_of_bird"),
            models.Index(fields=["network", "observed_at", "uid"], name="milestone_by_time"),
        ]

    def __str__(self) -> str:
        return f"{self.bird}: {self.key}"
