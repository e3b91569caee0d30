"""The relay: events reach those who asked to hear of them."""

from api.outbox.models import Delivery
from api.outbox.registry import SUBSCRIBERS
from api.outbox.services.unit import unit_of_work


def delivery_hand_over(delivery: Delivery) -> None:
    """Let a subscriber hear of an event; what the queue of deliveries does.

    Raises
    ------
    LookupError
        Of a subscriber that this release does not know, as after going back to an older one.
    """
    subscriber = SUBSCRIBERS.get(delivery.subscriber)
    if subscriber is None:
        raise LookupError(f"No subscriber is called {delivery.subscriber} in this release.")
    # One unit around all that it does, so that positions of the feed are taken once, at its end.
    with unit_of_work():
        subscriber.handle(delivery.event)
