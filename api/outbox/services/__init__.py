"""Writes that leave a trace: units of work, records, deliveries and mails."""

from api.outbox.services.changes import changes_expire
from api.outbox.services.mails import letter_send
from api.outbox.services.records import record_change, record_create, record_remove
from api.outbox.services.unit import By, changed, happened, left_site, unit_of_work

__all__ = [
    "By",
    "changed",
    "changes_expire",
    "happened",
    "left_site",
    "letter_send",
    "record_change",
    "record_create",
    "record_remove",
    "unit_of_work",
]
