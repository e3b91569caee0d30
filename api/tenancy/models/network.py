"""The tenant: a network of carers who answer for their birds together."""

from datetime import time

from django.core.exceptions import ValidationError
from django.db import models

from api.tenancy.ids import new_id
from api.web import clock
from species.domain.errors import DomainError
from species.domain.localtime import zone_named


def validate_time_zone(value: str) -> None:
    try:
        zone_named(value)
    except DomainError as refused:
        raise ValidationError(str(refused), code=refused.code) from refused


class Network(models.Model):
    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    name = models.CharField(max_length=200)
    slug = models.SlugField(max_length=63, unique=True)
    time_zone = models.CharField(max_length=64, default="Etc/UTC", validators=[validate_time_zone])
    report_at = models.TimeField(
        default=time(7), help_text="When the daily report leaves, by the clock of the network's time zone."
    )
    created_at = models.DateTimeField(default=clock.now, editable=False)

    class Meta:
        ordering = ["name", "id"]

    def __str__(self) -> str:
        return self.name
