"""The operators' view of memberships, and where a member's personal token is issued."""

from datetime import timedelta
from typing import Any

from django import forms
from django.contrib import admin
from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.template.response import TemplateResponse
from django.urls import path, reverse
from django.utils.html import format_html

from api.networks import services
from api.networks.models import Membership
from api.tenancy.admin import OperatorAdmin
from api.tenancy.scopes import SCOPES
from api.web import clock


class TokenForm(forms.Form):
    label = forms.CharField(max_length=200, help_text="Where it is used, such as: tablet in the nursery")
    scopes = forms.MultipleChoiceField(
        choices=[(scope, f"{scope}: {meaning}") for scope, meaning in SCOPES.items()],
        widget=forms.CheckboxSelectMultiple,
    )
    days = forms.IntegerField(
        min_value=1,
        max_value=services.PERSONAL_TOKEN_LIFETIME_D,
        initial=90,
        help_text="After so many days it expires.",
    )


@admin.register(Membership)
class MembershipAdmin(OperatorAdmin):
    list_display = ("user", "network", "role", "joined_at", "personal_token")
    list_filter = ("role", "network")
    list_select_related = ("user", "network")
    search_fields = ("user__email", "user__name", "network__name")
    autocomplete_fields = ("user", "network")

    @admin.display(description="Personal token")
    def personal_token(self, member: Membership) -> str:
        return format_html('<a href="{}">issue</a>', reverse("admin:networks_membership_token", args=[member.pk]))

    def get_urls(self) -> list[Any]:
        token = path(
            "<uuid:member_id>/token/", self.admin_site.admin_view(self.token_view), name="networks_membership_token"
        )
        token.callback = self._across_networks(token.callback)
        return [token, *super().get_urls()]

    def get_readonly_fields(self, request: HttpRequest, obj: Model | None = None) -> tuple[str, ...]:
        return ("network", "user", "joined_at") if obj else ()

    def save_model(self, request: HttpRequest, obj: Membership, form: Any, change: bool) -> None:
        if change:
            services.member_role_set(member=obj, role=obj.role, actor=request.user)
        else:
            added = services.member_add(network=obj.network, user=obj.user, role=obj.role, actor=request.user)
            obj.pk = added.pk

    def delete_model(self, request: HttpRequest, obj: Membership) -> None:
        services.member_remove(member=obj, actor=request.user)

    def delete_queryset(self, request: HttpRequest, queryset: Any) -> None:
        for member in queryset:
            services.member_remove(member=member, actor=request.user)

    def token_view(self, request: HttpRequest, member_id: str) -> HttpResponse:
        if not self._is_operator(request):
            return HttpResponse(status=403)
        member = get_object_or_404(Membership.objects.select_related("user", "network"), pk=member_id)
        form = TokenForm(request.POST or None)
        raw = None
        if request.method == "POST" and form.is_valid():
            raw = services.token_issue(
                member=member,
                scopes=form.cleaned_data["scopes"],
                label=form.cleaned_data["label"],
                expires_at=clock.now() + timedelta(days=form.cleaned_data["days"]),
                actor=request.user,
            )
        context = {
            **self.admin_site.each_context(request),
            "title": f"Personal token of {member.user} for {member.network}",
            "form": form,
            "raw": raw,
            "opts": self.opts,
        }
        return TemplateResponse(request, "networks/admin_token.html", context)
