"""Addresses of the room."""

from django.urls import path

from api.catalog import views

urlpatterns = [
    path("species", views.SpeciesListView.as_view(), name="species-list"),
    path("species/<str:key>", views.SpeciesView.as_view(), name="species"),
    path("species/<str:key>/revisions", views.SpeciesRevisionsView.as_view(), name="species-revisions"),
    path("species/<str:key>/growth-curve", views.GrowthCurveView.as_view(), name="growth-curve"),
    path("species/<str:key>/growth-curve.csv", views.GrowthCurveCsvView.as_view(), name="growth-curve-csv"),
    path("species/<str:key>/growth-curve.svg", views.GrowthCurveSvgView.as_view(), name="growth-curve-svg"),
]
