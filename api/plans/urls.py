"""Addresses of the room."""

from django.urls import path

from api.plans.views.feeding_plans import FeedingPlanView, SpeciesFeedingPlanView
from api.plans.views.mixes import MixView
from api.plans.views.stored import BirdFeedingPlanView

urlpatterns = [
    path("birds/<uuid:bird_id>/feeding-plan", BirdFeedingPlanView.as_view(), name="bird-feeding-plan"),
    path("feeding-plans", FeedingPlanView.as_view(), name="feeding-plans"),
    path("mixes", MixView.as_view(), name="mixes"),
    path("species/<str:key>/feeding-plan", SpeciesFeedingPlanView.as_view(), name="species-feeding-plan"),
]
