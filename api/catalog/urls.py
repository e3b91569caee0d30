"""Addresses of the room."""

urlpatterns = []
