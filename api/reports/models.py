"""The daily reports of a network, as they were sent."""

from django.db import models

from api.tenancy.models import NetworkRow
from api.web import clock


class Report(NetworkRow):
    """The report of one local day, written once and never changed. Its mail, as it was sent, is its letter."""

    on = models.DateField(help_text="The day by the network's clock.")
    period_start = models.DateTimeField()
    period_end = models.DateTimeField()
    composed_at = models.DateTimeField(default=clock.now)
    #: What the report says, by the names of ``rules.report.Report``; no list is cut.
    data = models.JSONField()
    #: All of it as HTML; its pictures are the letter's.
    page = models.TextField()
    letter = models.OneToOneField("outbox.Letter", on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-on", "-id"]
        constraints = [models.UniqueConstraint(fields=["network", "on"], name="report_once_a_day")]

    def __str__(self) -> str:
        return f"report of {self.on}"
