"""Addresses of the room, under /api/v1."""

from django.urls import path

from api.alerts import views

urlpatterns = [
    path("alerts", views.AlertListView.as_view(), name="alerts"),
    path("alerts/<uuid:record_id>", views.AlertView.as_view(), name="alert"),
    path("alerts/<uuid:record_id>/versions", views.AlertVersionsView.as_view(), name="alert-versions"),
    path("alerts/<uuid:record_id>/acknowledge", views.AlertAcknowledgeView.as_view(), name="alert-acknowledge"),
    path("alerts/<uuid:record_id>/resolve", views.AlertResolveView.as_view(), name="alert-resolve"),
    path("alerts/<uuid:record_id>/snooze", views.AlertSnoozeView.as_view(), name="alert-snooze"),
]
