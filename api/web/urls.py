"""Addresses that belong to no room."""

from django.urls import path

from api.web import views

urlpatterns = [
    path("health", views.HealthView.as_view(), name="health"),
    path("ready", views.ReadyView.as_view(), name="ready"),
    path("problems", views.ProblemListView.as_view(), name="problems"),
    path("problems/<slug:slug>", views.ProblemView.as_view(), name="problem"),
    path("openapi.yaml", views.OpenApiView.as_view(), name="openapi"),
    path("docs", views.DocsView.as_view(), name="docs"),
]
