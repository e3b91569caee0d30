"""A record that people and apps write: numbered versions, an id of the client's choice, never overwritten."""

from datetime import UTC, datetime
from decimal import Decimal
from typing import Any, ClassVar, TypeVar
from uuid import UUID

from django.db import models

from api.tenancy.ids import new_id
from api.tenancy.models.rows import BelongsToNetwork, NetworkManager
from api.web import clock

Record = TypeVar("Record", bound="NetworkRecord")


class PresentManager(NetworkManager[Record]):
    """The records of the network in scope that have not been removed."""

    def get_queryset(self) -> models.QuerySet[Record]:
        return super().get_queryset().filter(gone_at__isnull=True)


class NetworkRecord(BelongsToNetwork):
    """A record of one network.

    ``row`` is the database's own key and never leaves it. ``uid`` is what the API calls ``id``: unique within the
    network only, for a client may choose it, and one that another network happens to use must neither be refused
    nor tell of that network.
    """

    #: What the record is called in versions, changes and events.
    KIND: ClassVar[str]
    #: Fields that ``told`` gives by their own names; ``bird_id`` stands for the public id of ``bird``.
    TOLD: ClassVar[tuple[str, ...]]

    row = models.BigAutoField(primary_key=True)
    uid = models.UUIDField("id", default=new_id, editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)
    recorded_at = models.DateTimeField(default=clock.now, editable=False)
    changed_at = models.DateTimeField(default=clock.now, editable=False)
    gone_at = models.DateTimeField(null=True, blank=True, editable=False)
    #: Of what was sent with a client's id, so that sending it again is known for what it is.
    content_hash = models.CharField(max_length=64, blank=True, editable=False)

    objects: PresentManager[Any] = PresentManager()
    #: Removed ones too: their ids stay taken.
    ever: NetworkManager[Any] = NetworkManager()

    class Meta:
        abstract = True
        constraints = [models.UniqueConstraint(fields=["network", "uid"], name="%(class)s_id_once")]

    def told(self) -> dict[str, Any]:
        """The record in plain JSON values: in answers, in its versions and in the feed of changes."""
        return {
            "id": str(self.uid),
            "version": self.version,
            **{name: plain(self._value(name)) for name in self.TOLD},
            "recorded_at": plain(self.recorded_at),
            "changed_at": plain(self.changed_at),
        }

    def _value(self, name: str) -> Any:
        if name.endswith("_id"):
            other = getattr(self, name.removesuffix("_id"))
            return other and other.uid
        return getattr(self, name)


def plain(value: Any) -> Any:
    """A value as JSON has it: instants in UTC, ids as text, decimals as numbers."""
    match value:
        case datetime():
            return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
        case UUID():
            return str(value)
        case Decimal():
            return float(value)
        case dict():
            return {name: plain(inner) for name, inner in value.items()}
        case list() | tuple():
            return [plain(inner) for inner in value]
        case None | str() | bool() | int() | float():
            return value
        case _:
            return value.isoformat()
