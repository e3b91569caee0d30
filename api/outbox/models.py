"""What leaves a change: its versions, the feed of changes, events with their deliveries, and mails."""

from django.conf import settings
from django.db import models

from api.jobs.models import Work
from api.tenancy.models import NetworkRow
from api.web import clock


class Op(models.TextChoices):
    PUT = "put", "Put"
    GONE = "gone", "Gone"


class RecordVersion(NetworkRow):
    """A record as it stood: written with every change, never changed itself."""

    kind = models.CharField(max_length=32)
    record_id = models.UUIDField()
    version = models.PositiveIntegerField()
    op = models.CharField(max_length=8, choices=Op.choices)
    at = models.DateTimeField(default=clock.now, editable=False)
    data = models.JSONField()
    actor = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    client = models.ForeignKey(
        settings.OAUTH2_PROVIDER_APPLICATION_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ["version"]
        constraints = [
            models.UniqueConstraint(fields=["network", "kind", "record_id", "version"], name="record_version_once")
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.record_id} version {self.version}"


class ChangeCounter(models.Model):
    """The last position given out in a network's feed; its lock is what orders the network's commits."""

    network = models.OneToOneField("tenancy.Network", on_delete=models.CASCADE, primary_key=True, related_name="+")
    position = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.network_id}: {self.position}"


class Change(NetworkRow):
    """One line of the network's feed. Positions are taken last in a transaction, so they appear in their order."""

    position = models.BigIntegerField()
    kind = models.CharField(max_length=32)
    record_id = models.UUIDField()
    #: The site it concerns, for readers who see some sites only; none for what concerns the whole network.
    site_id = models.UUIDField(null=True)
    #: It came into sight of a site, or left it, itself unchanged: no news to who sees the whole network.
    sight_only = models.BooleanField(default=False)
    op = models.CharField(max_length=8, choices=Op.choices)
    version = models.PositiveIntegerField()
    at = models.DateTimeField(default=clock.now, editable=False)
    data = models.JSONField(null=True)

    class Meta:
        ordering = ["position"]
        constraints = [models.UniqueConstraint(fields=["network", "position"], name="change_position_once")]
        indexes = [models.Index(fields=["at"], name="change_by_age")]

    def __str__(self) -> str:
        return f"{self.position}: {self.op} {self.kind} {self.record_id}"


class Event(NetworkRow):
    """Something that happened, for those who asked to hear of it."""

    name = models.CharField(max_length=64)
    record_id = models.UUIDField()
    version = models.PositiveIntegerField()
    at = models.DateTimeField(default=clock.now, editable=False)
    data = models.JSONField()

    class Meta:
        ordering = ["at", "id"]
        indexes = [models.Index(fields=["network", "name", "-at"], name="event_by_name")]

    def __str__(self) -> str:
        return f"{self.name} {self.record_id}"


class Delivery(Work):
    """An event on its way to one subscriber within the service."""

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="deliveries")
    subscriber = models.CharField(max_length=64)

    class Meta(Work.Meta):
        verbose_name_plural = "deliveries"
        constraints = [
            *Work.Meta.constraints,
            models.UniqueConstraint(fields=["event", "subscriber"], name="delivery_once_a_subscriber"),
        ]

    def __str__(self) -> str:
        return f"{self.event} to {self.subscriber}"


class Letter(NetworkRow):
    """What a mail says, kept as it was sent; one letter goes to several people."""

    subject = models.CharField(max_length=255)
    text = models.TextField()
    html = models.TextField()
    #: Pictures by the name that the HTML calls them, PNG in base64.
    images = models.JSONField(default=dict, blank=True)
    made_at = models.DateTimeField(default=clock.now, editable=False)

    def __str__(self) -> str:
        return self.subject


class Mail(Work):
    """A letter on its way to one person. It may arrive twice, always with the same Message-ID."""

    letter = models.ForeignKey(Letter, on_delete=models.PROTECT, related_name="mails")
    recipient = models.EmailField()
    message_id = models.CharField(max_length=255, unique=True)

    class Meta(Work.Meta):
        constraints = [
            *Work.Meta.constraints,
            models.UniqueConstraint(fields=["letter", "recipient"], name="mail_once_a_recipient"),
        ]

    def __str__(self) -> str:
        return f"{self.letter} to {self.recipient}"
