"""The shapes of reports, as they are read."""

from typing import Any

from rest_framework import serializers

from api.reports.rules.report import Need
from api.web.pagination import CursorParameters
from api.web.reasons import CautionOut, texts
from api.web.rules.cautions import Severity
from api.web.strict import StrictDateField


class ReportQuery(CursorParameters):
    """Which reports: of days from one to another, both included."""

    to = StrictDateField(required=False, help_text="The last day.")

    def get_fields(self) -> dict[str, serializers.Field]:
        """``from`` is a word of Python's own, so it cannot be an attribute."""
        return {**super().get_fields(), "from": StrictDateField(required=False, help_text="The first day.")}


class TotalsOut(serializers.Serializer[Any]):
    """The report in figures."""

    birds = serializers.IntegerField(help_text="Birds in care.")
    needs_you = serializers.IntegerField()
    urgent = serializers.IntegerField(help_text="Of those that need you, how many within the hour.")
    alerts = serializers.IntegerField()
    new_alerts = serializers.IntegerField(help_text="Opened since the last report.")
    missed_weighings = serializers.IntegerField()
    night_feeds = serializers.IntegerField()
    outcomes = serializers.IntegerField()


class OfABirdOut(serializers.Serializer[Any]):
    """Which bird, by the names it had when the report was written."""

    bird_id = serializers.UUIDField()
    bird = serializers.CharField()
    species = serializers.CharField()
    site = serializers.CharField()


class OfABirdOrSiteOut(serializers.Serializer[Any]):
    """Which bird; without one, the whole site."""

    bird_id = serializers.UUIDField(allow_null=True)
    bird = serializers.CharField(allow_null=True)
    species = serializers.CharField(allow_null=True)
    site = serializers.CharField()


class ReasonOut(serializers.Serializer[Any]):
    """Why somebody is needed, how soon, and what to do."""

    need = serializers.ChoiceField(choices=[need.value for need in Need])
    severity = serializers.ChoiceField(choices=[word.value for word in Severity])
    within_h = serializers.FloatField()
    why = serializers.CharField()
    what_to_do = texts()


class NeedsYouOut(OfABirdOrSiteOut):
    """A bird or site that needs somebody today; the most pressing reason stands first."""

    reasons = ReasonOut(many=True)


class ChartOut(serializers.Serializer[Any]):
    """A growth chart of the report's page, in words."""

    name = serializers.CharField()
    text = serializers.CharField()


class ReportedAlertOut(OfABirdOrSiteOut):
    """An open alert; the chart stands at the first of its bird."""

    id = serializers.UUIDField()
    code = serializers.CharField()
    severity = serializers.ChoiceField(choices=[word.value for word in Severity])
    new = serializers.BooleanField()
    opened_at = serializers.DateTimeField()
    since = serializers.DateTimeField()
    text = serializers.CharField()
    actions = texts()
    acknowledged_at = serializers.DateTimeField(allow_null=True)
    acknowledged_by = serializers.CharField(allow_null=True)
    snoozed_until = serializers.DateTimeField(allow_null=True)
    chart = ChartOut(allow_null=True)


class CountOut(serializers.Serializer[Any]):
    """Birds under one name; null where it is not known."""

    name = serializers.CharField(allow_null=True)
    birds = serializers.IntegerField()


class CensusOut(serializers.Serializer[Any]):
    """Birds in care, counted three ways."""

    by_species = CountOut(many=True)
    by_stage = CountOut(many=True)
    by_site = CountOut(many=True)


class MissedWeighingOut(OfABirdOut):
    """A growing bird that was not weighed in the local day before the report."""

    last_weighed_at = serializers.DateTimeField(allow_null=True)


class NightPortionOut(serializers.Serializer[Any]):
    """What one bird gets."""

    bird_id = serializers.UUIDField()
    bird = serializers.CharField()
    portion = serializers.CharField()


class NightFeedOut(serializers.Serializer[Any]):
    """A feed of the night that follows, by the clock of the network."""

    site = serializers.CharField()
    at = serializers.DateTimeField()
    portions = NightPortionOut(many=True)


class ReportedOutcomeOut(OfABirdOut):
    """A bird whose time in care ended since the last report."""

    kind = serializers.CharField()
    at = serializers.DateTimeField()
    causes = texts()


class ReportShortOut(serializers.Serializer[Any]):
    """A report in a list."""

    id = serializers.UUIDField()
    version = serializers.IntegerField()
    on = serializers.DateField()
    subject = serializers.CharField()
    period_start = serializers.DateTimeField()
    period_end = serializers.DateTimeField()
    composed_at = serializers.DateTimeField()
    totals = TotalsOut()


class ReportOut(ReportShortOut):
    """A report; no list is cut."""

    network = serializers.CharField()
    time_zone = serializers.CharField()
    needs_you = NeedsYouOut(many=True)
    alerts = ReportedAlertOut(many=True)
    census = CensusOut()
    missed_weighings = MissedWeighingOut(many=True)
    night_feeds = NightFeedOut(many=True)
    outcomes = ReportedOutcomeOut(many=True)
    cautions = CautionOut(many=True)


class ReportPageOut(serializers.Serializer[Any]):
    """A page of reports, the latest first."""

    results = ReportShortOut(many=True)
    next = serializers.CharField(allow_null=True, help_text="Send it as cursor to get the page after this.")
