"""Addresses of the room."""

from django.urls import path

from api.growth.views.age_estimates import AgeEstimateView
from api.growth.views.assessments import GrowthAssessmentSvgView, GrowthAssessmentView

urlpatterns = [
    path("age-estimates", AgeEstimateView.as_view(), name="age-estimates"),
    path("growth-assessments", GrowthAssessmentView.as_view(), name="growth-assessments"),
    path("growth-assessments.svg", GrowthAssessmentSvgView.as_view(), name="growth-assessments-svg"),
]
