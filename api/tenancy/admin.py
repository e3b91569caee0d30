"""The operators' view of users, networks, apps and the audit trail."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django import forms
from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.forms import AdminUserCreationForm
from django.http import HttpRequest, HttpResponse
from django.template.response import TemplateResponse
from oauth2_provider.models import DeviceGrant

from api.tenancy.models import AccessToken, ApiClient, AuditEntry, Grant, IDToken, RefreshToken, User
from api.tenancy.scope import all_networks
from api.tenancy.scopes import SCOPES


class OperatorAdmin(admin.ModelAdmin):
    """For rows that belong to networks: seen by operators only, and each look at them is logged."""

    show_full_result_count = False

    def get_urls(self) -> list[Any]:
        urls = super().get_urls()
        for url in urls:
            if url.callback is not None:
                url.callback = self._across_networks(url.callback)
        return urls

    def _across_networks(self, view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
        @wraps(view)
        def within(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            with all_networks(f"admin: {request.user} {request.method} {request.path}"):
                answer = view(request, *args, **kwargs)
                # A page reads its rows while it is rendered, which has to happen while they may be read.
                return answer.render() if isinstance(answer, TemplateResponse) else answer

        return within

    def has_module_permission(self, request: HttpRequest) -> bool:
        return self._is_operator(request)

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return self._is_operator(request)

    def has_add_permission(self, request: HttpRequest) -> bool:
        return self._is_operator(request)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return self._is_operator(request)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return self._is_operator(request)

    @staticmethod
    def _is_operator(request: HttpRequest) -> bool:
        return bool(request.user.is_active and request.user.is_superuser)


class ReadOnly:
    """Rows that services write and nobody edits."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class NewUserForm(AdminUserCreationForm):
    class Meta:
        model = User
        fields = ("email", "name")


@admin.register(User)
class PersonAdmin(UserAdmin):
    add_form = NewUserForm
    list_display = ("email", "name", "is_active", "is_staff", "is_superuser")
    list_filter = ("is_active", "is_staff", "is_superuser")
    search_fields = ("email", "name")
    ordering = ("email",)
    readonly_fields = ("last_login", "date_joined")
    fieldsets = (
        (None, {"fields": ("email", "password", "name")}),
        ("Access", {"fields": ("is_active", "is_staff", "is_superuser", "groups", "user_permissions")}),
        ("Dates", {"fields": ("last_login", "date_joined")}),
    )
    add_fieldsets = ((None, {"fields": ("email", "name", "usable_password", "password1", "password2")}),)


#: Has the admin's style sheet give choices of a list the whole width, instead of that of a label.
WIDE = {"class": "radiolist"}


class ApiClientForm(forms.ModelForm):
    allowed_scopes = forms.MultipleChoiceField(
        choices=[(scope, f"{scope}: {meaning}") for scope, meaning in SCOPES.items()],
        widget=forms.CheckboxSelectMultiple(attrs=WIDE),
        help_text="What the app may ask for.",
    )
    authorization_grant_type = forms.ChoiceField(
        choices=[
            (ApiClient.GRANT_AUTHORIZATION_CODE, "Authorization code: people grant access"),
            (ApiClient.GRANT_CLIENT_CREDENTIALS, "Client credentials: the app on its own, for one network"),
        ]
    )

    class Meta:
        model = ApiClient
        fields = (
            "name",
            "network",
            "client_id",
            "client_secret",
            "client_type",
            "authorization_grant_type",
            "redirect_uris",
            "allowed_scopes",
        )
        help_texts = {
            "client_secret": "Copy it now: only its hash is kept. A public app needs none.",
            "client_type": "Public: runs on people's own devices and keeps no secret. Confidential: runs on a server.",
            "redirect_uris": "Where people go back to, separated by spaces. Client credentials need none.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.initial["allowed_scopes"] = self.instance.allowed_scopes.split()

    def clean_allowed_scopes(self) -> str:
        return " ".join(self.cleaned_data["allowed_scopes"])


@admin.register(AuditEntry)
class AuditEntryAdmin(ReadOnly, OperatorAdmin):
    list_display = ("at", "network", "actor", "client", "action", "object_kind", "object_id")
    list_filter = ("action",)
    list_select_related = ("network", "actor", "client")
    date_hierarchy = "at"

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class TokenAdmin(ReadOnly, OperatorAdmin):
    """Shows who may what until when; deleting one revokes it. Its value is nowhere to be seen."""

    list_display = ("id", "network", "user", "application", "label", "scope", "expires")
    list_select_related = ("network", "user", "application")
    fields = ("network", "user", "application", "label", "scope", "expires", "created")
    readonly_fields = fields
    search_fields = ("user__email", "label")


class ApiClientAdmin(OperatorAdmin):
    form = ApiClientForm
    list_display = ("name", "network", "client_type", "authorization_grant_type", "allowed_scopes")
    list_select_related = ("network",)
    search_fields = ("name", "client_id")


# The library registers its own pages, which know no networks and show token columns.
for model in (ApiClient, AccessToken, RefreshToken, Grant, IDToken, DeviceGrant):
    if admin.site.is_registered(model):
        admin.site.unregister(model)
admin.site.register(ApiClient, ApiClientAdmin)
admin.site.register(AccessToken, TokenAdmin)
