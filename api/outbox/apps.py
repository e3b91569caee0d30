"""Wiring of the room."""

from django.apps import AppConfig


class OutboxConfig(AppConfig):
    name = "api.outbox"
    label = "outbox"
    verbose_name = "Outbox"

    def ready(self) -> None:
        from api.jobs.registry import Queue, register_queue, register_sweep
        from api.outbox.models import Delivery, Mail
        from api.outbox.probes import lag
        from api.outbox.services.changes import changes_expire
        from api.outbox.services.mails import MAILS, mail_deliver
        from api.outbox.services.relay import delivery_hand_over
        from api.outbox.services.unit import DELIVERIES
        from api.web.probes import register_probe

        register_queue(Queue(DELIVERIES, Delivery, delivery_hand_over))
        # A mail cannot be unsent: it is sent outside the transaction that marks it, at least once.
        register_queue(Queue(MAILS, Mail, mail_deliver, atomic=False))
        register_sweep("outbox.changes", changes_expire)
        register_probe("outbox", lag)
