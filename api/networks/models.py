"""Who belongs to a network, and as what; the sites where its birds are fed."""

from django.conf import settings
from django.db import models

from api.tenancy.models import NetworkRecord, NetworkRow
from api.tenancy.models.network import validate_time_zone
from api.web import clock


class Role(models.TextChoices):
    COORDINATOR = "coordinator", "Coordinator"
    CARER = "carer", "Carer"
    VET = "vet", "Vet"
    OBSERVER = "observer", "Observer"


class Membership(NetworkRow):
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=16, choices=Role.choices)
    joined_at = models.DateTimeField(default=clock.now, editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)
    wants_report = models.BooleanField(
        "gets the daily report", default=True, help_text="Sent to coordinators; others read it over the API."
    )

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["network", "user"],
                name="membership_once",
                violation_error_message="This person belongs to the network already.",
            ),
            models.CheckConstraint(condition=models.Q(role__in=Role.values), name="membership_role_known"),
        ]

    def __str__(self) -> str:
        return f"{self.user} ({self.get_role_display()})"


class SiteKind(models.TextChoices):
    CENTRE = "centre", "Centre"
    HOME = "home", "Home"


class Site(NetworkRecord):
    """A place where birds are fed: a centre, or a carer's home."""

    KIND = "site"
    TOLD = ("name", "kind", "time_zone", "feeding_day", "note", "carer_ids")

    name = models.CharField(max_length=200)
    kind = models.CharField(max_length=16, choices=SiteKind.choices)
    time_zone = models.CharField(max_length=64, validators=[validate_time_zone])
    feeding_day_first = models.TimeField(null=True, blank=True)
    feeding_day_last = models.TimeField(null=True, blank=True)
    note = models.CharField(max_length=2000, blank=True)
    carers = models.ManyToManyField(Membership, blank=True, related_name="sites")

    class Meta(NetworkRecord.Meta):
        ordering = ["name", "row"]
        constraints = [
            models.UniqueConstraint(fields=["network", "uid"], name="site_id_once"),
            models.CheckConstraint(condition=models.Q(kind__in=SiteKind.values), name="site_kind_known"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def feeding_day(self) -> dict[str, str] | None:
        if self.feeding_day_first is None or self.feeding_day_last is None:
            return None
        return {"first": f"{self.feeding_day_first:%H:%M}", "last": f"{self.feeding_day_last:%H:%M}"}

    @property
    def carer_ids(self) -> list[str]:
        return sorted(str(member.pk) for member in self.carers.all())
