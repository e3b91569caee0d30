"""Addresses of the room."""

from django.urls import path

from api.growth.views.age_estimates import AgeEstimateView
from api.growth.views.assessments import GrowthAssessmentSvgView, GrowthAssessmentView
from api.growth.views.stored import BirdGrowthCsvView, BirdGrowthSvgView, BirdGrowthView

urlpatterns = [
    path("birds/<uuid:bird_id>/growth", BirdGrowthView.as_view(), name="bird-growth"),
    path("birds/<uuid:bird_id>/growth.svg", BirdGrowthSvgView.as_view(), name="bird-growth-svg"),
    path("birds/<uuid:bird_id>/growth.csv", BirdGrowthCsvView.as_view(), name="bird-growth-csv"),
    path("age-estimates", AgeEstimateView.as_view(), name="age-estimates"),
    path("growth-assessments", GrowthAssessmentView.as_view(), name="growth-assessments"),
    path("growth-assessments.svg", GrowthAssessmentSvgView.as_view(), name="growth-assessments-svg"),
]
