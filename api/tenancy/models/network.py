"""The tenant: a network of carers who answer for their birds together."""

from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.db import models

from api.tenancy.ids import new_id
from api.web import clock


def validate_time_zone(value: str) -> None:
    if value not in available_timezones():
        raise ValidationError(
            "%(value)s is no time zone; write Region/City, such as Europe/Lisbon.", params={"value": value}
        )


class Network(models.Model):
    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    name = models.CharField(max_length=200)
    slug = models.SlugField(max_length=63, unique=True)
    time_zone = models.CharField(max_length=64, default="Etc/UTC", validators=[validate_time_zone])
    created_at = models.DateTimeField(default=clock.now, editable=False)

    class Meta:
        ordering = ["name", "id"]

    def __str__(self) -> str:
        return self.name
