"""The relay: events reach those who asked to hear of them."""

from api.outbox.models import Delivery
from api.outbox.registry import SUBSCRIBERS


def delivery_hand_over(delivery: Delivery) -> None:
    """Let a subscriber hear of an event; what the queue of deliveries does."""
    SUBSCRIBERS[delivery.subscriber].handle(delivery.event)
