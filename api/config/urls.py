"""Every address of the service, room by room."""

from django.contrib import admin
from django.urls import include, path
from django.views.generic import RedirectView

from api.networks.urls import oauth_urlpatterns, sign_in_urlpatterns
from api.reports.urls import page_urlpatterns

admin.site.site_header = admin.site.site_title = "Handrear"
admin.site.index_title = "Species, people and access"

api_v1 = [
    path("", include("api.web.urls")),
    path("", include("api.networks.urls")),
    path("", include("api.catalog.urls")),
    path("", include("api.kitchen.urls")),
    path("", include("api.birds.urls")),
    path("", include("api.growth.urls")),
    path("", include("api.plans.urls")),
    path("", include("api.alerts.urls")),
    path("", include("api.reports.urls")),
]

urlpatterns = [
    path("api/v1/", include(api_v1)),
    path("", include((oauth_urlpatterns, "oauth2_provider"))),
    path("", include(sign_in_urlpatterns)),
    path("", include(page_urlpatterns)),
    path("admin", RedirectView.as_view(url="/admin/")),
    path("admin/", admin.site.urls),
]

handler400 = "api.web.fallbacks.bad_request"
handler403 = "api.web.fallbacks.permission_denied"
handler404 = "api.web.fallbacks.not_found"
handler500 = "api.web.fallbacks.server_error"
