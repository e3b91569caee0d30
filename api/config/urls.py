"""Every address of the service, room by room."""

from django.contrib import admin
from django.urls import include, path
from django.views.generic import RedirectView

api_v1 = [
    path("", include("api.catalog.urls")),
    path("", include("api.plans.urls")),
]

urlpatterns = [
    path("api/v1/", include(api_v1)),
    path("admin", RedirectView.as_view(url="/admin/")),
    path("admin/", admin.site.urls),
]
