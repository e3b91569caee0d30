"""What every row that belongs to a network inherits."""

from typing import Any, TypeVar

from django.db import models

from api.tenancy import scope
from api.tenancy.ids import new_id

Row = TypeVar("Row", bound=models.Model)


class BelongsToNetwork(models.Model):
    """A row of one network; a new one belongs to the network in scope."""

    network = models.ForeignKey("tenancy.Network", on_delete=models.PROTECT, related_name="+")

    class Meta:
        abstract = True

    def __init__(self, *args: Any, **fields: Any) -> None:
        # Only a row made by keywords takes the scope's network: a row read from the database has its own.
        named = args or "network" in fields or "network_id" in fields
        if not named and scope.scope_is_open() and not scope.every_network_in_scope():
            fields["network_id"] = scope.current_network_id()
        super().__init__(*args, **fields)


class NetworkManager(models.Manager[Row]):
    """Reads the rows of the network in scope; without a scope it raises.

    A forward foreign key is followed by Django's base manager, which is not scoped. Services refuse links
    between networks, so a followed link stays within the network of the row it starts from.
    """

    use_in_migrations = False

    def get_queryset(self) -> models.QuerySet[Row]:
        if not scope.scope_is_open():
            raise scope.NetworkScopeMissing(self.model.__name__)
        rows = super().get_queryset()
        if scope.every_network_in_scope():
            return rows
        return rows.filter(network_id=scope.current_network_id())


class NetworkRow(BelongsToNetwork):
    """A row that is read inside its network's scope only."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)

    objects: NetworkManager[Any] = NetworkManager()

    class Meta:
        abstract = True
