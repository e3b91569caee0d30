"""Wiring of the room."""

from django.apps import AppConfig


class OutboxConfig(AppConfig):
    name = "api.outbox"
    label = "outbox"
    verbose_name = "Outbox"

    def ready(self) -> None:
        from api.jobs.registry import Queue, register_queue
        from api.outbox.models import Delivery, Mail
        from api.outbox.services.mails import MAILS, mail_deliver
        from api.outbox.services.relay import delivery_hand_over
        from api.outbox.services.unit import DELIVERIES

        register_queue(Queue(DELIVERIES, Delivery, delivery_hand_over))
        # A mail cannot be unsent: it is sent outside the transaction that marks it, at least once.
        register_queue(Queue(MAILS, Mail, mail_deliver, atomic=False))
