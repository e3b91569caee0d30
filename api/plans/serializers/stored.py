"""The plan of a stored bird as it leaves the service."""

from rest_framework import serializers

from api.plans.serializers.plan_shape import FeedingPlanOut
from api.web.strict import QueryParameters, StrictDateField


class BirdFeedingPlanQuery(QueryParameters):
    """The day of the plan."""

    on = StrictDateField(required=False, help_text="The day the plan is for, where the bird is; today where missing.")


class BirdFeedingPlanOut(FeedingPlanOut):
    """A plan for a stored bird and one day, from all that was recorded of it."""

    bird_id = serializers.UUIDField()
