"""The operators' view of networks and memberships, and where a member's personal token is issued."""

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
from api.networks.models import Membership, Role
from api.tenancy.admin import WIDE, OperatorAdmin
from api.tenancy.models import Network
from api.tenancy.scopes import SCOPES
from api.web import clock
from species.domain.errors import ConflictError


class TokenForm(forms.Form):
    label = forms.CharField(max_length=200, help_text="Where it is used, such as: tablet in the nursery")
    scopes = forms.MultipleChoiceField(
        choices=[(scope, f"{scope}: {meaning}") for scope, meaning in SCOPES.items()],
        widget=forms.CheckboxSelectMultiple(attrs=WIDE),
    )
    days = forms.IntegerField(
        min_value=1,
        max_value=services.PERSONAL_TOKEN_LIFETIME_D,
        initial=90,
        help_text="After so many days it expires.",
    )


@admin.register(Network)
class NetworkAdmin(OperatorAdmin):
    list_display = ("name", "slug", "time_zone", "report_at", "created_at")
    search_fields = ("name", "slug")
    readonly_fields = ("id", "created_at")
    prepopulated_fields = {"slug": ("name",)}

    def get_fields(self, request: HttpRequest, obj: Model | None = None) -> tuple[str, ...]:
        settings = ("name", "slug", "time_zone", "report_at")
        return (*settings, "id", "created_at") if obj else settings

    def save_model(self, request: HttpRequest, obj: Network, form: Any, change: bool) -> None:
        told = {name: form.cleaned_data[name] for name in ("name", "slug", "time_zone", "report_at")}
        if change:
            services.network_change(network=obj, **told, actor=request.user)
        else:
            obj.pk = services.network_create(**told, actor=request.user).pk


class MembershipForm(forms.ModelForm):
    """A membership as the service takes it: what it would refuse is said beside the field."""

    class Meta:
        model = Membership
        fields = ("network", "user", "role", "wants_report")

    def clean_role(self) -> str:
        role: str = self.cleaned_data["role"]
        if not self.instance._state.adding and role != Role.COORDINATOR:
            try:
                services.refuse_without_coordinator([Membership.objects.get(pk=self.instance.pk)])
            except ConflictError as refused:
                raise forms.ValidationError(str(refused), code=refused.code) from refused
        return role


@admin.register(Membership)
class MembershipAdmin(OperatorAdmin):
    form = MembershipForm
    list_display = ("user", "network", "role", "personal_token", "wants_report")
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
        told = {name: form.cleaned_data[name] for name in ("role", "wants_report")}
        if change:
            services.member_change(member=obj, **told, actor=request.user)
        else:
            obj.pk = services.member_add(network=obj.network, user=obj.user, **told, actor=request.user).pk

    def get_deleted_objects(self, objs: Any, request: HttpRequest) -> Any:
        """The last coordinators of a network stand among what is protected: the page says so and removes nobody."""
        deletable, counts, needed, protected = super().get_deleted_objects(objs, request)
        try:
            services.refuse_without_coordinator(list(objs))
        except ConflictError as refused:
            protected = [*protected, str(refused)]
        return deletable, counts, needed, protected

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
            "member": member,
            "raw": raw,
            "opts": self.opts,
        }
        return TemplateResponse(request, "networks/admin_token.html", context)
