"""Addresses of networks: under /api/v1, and those of OAuth at the root."""

from django.contrib.admin.forms import AdminAuthenticationForm
from django.urls import path
from oauth2_provider.urls import metadata_urlpatterns
from oauth2_provider.views import RevokeTokenView

from api.networks.views.changes import ChangeListView
from api.networks.views.members import MemberChangeView, MemberListView
from api.networks.views.oauth import ConsentView, SignInView, TokenEndpoint
from api.networks.views.sites import SiteListView, SiteVersionsView, SiteView

urlpatterns = [
    path("changes", ChangeListView.as_view(), name="changes"),
    path("members", MemberListView.as_view(), name="members"),
    path("members/<uuid:member_id>", MemberChangeView.as_view(), name="member"),
    path("sites", SiteListView.as_view(), name="sites"),
    path("sites/<uuid:record_id>", SiteView.as_view(), name="site"),
    path("sites/<uuid:record_id>/versions", SiteVersionsView.as_view(), name="site-versions"),
]

# The library finds its own addresses by these names.
oauth_urlpatterns = [
    path("oauth/authorize", ConsentView.as_view(), name="authorize"),
    path("oauth/token", TokenEndpoint.as_view(), name="token"),
    path("oauth/revoke", RevokeTokenView.as_view(), name="revoke-token"),
    *metadata_urlpatterns,
]

sign_in_urlpatterns = [
    path("sign-in", SignInView.as_view(), name="sign-in"),
    # Where the admin sends those who are not signed in: the same page, for operators only.
    path("admin/login/", SignInView.as_view(authentication_form=AdminAuthenticationForm, next_page="/admin/")),
]
