"""Who belongs to a network, and as what."""

from django.conf import settings
from django.db import models

from api.tenancy.models import NetworkRow
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
