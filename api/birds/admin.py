"""The operators' view of birds and what was recorded of them: to read. Records are written over the API."""

from typing import Any

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest

from api.birds.models import Bird, CropCheck, Feed, Milestone, Weighing
from api.tenancy.admin import OperatorAdmin, ReadOnly


class InCareFilter(admin.SimpleListFilter):
    """In care, or gone."""

    title = "in care"
    parameter_name = "in_care"

    def lookups(self, request: HttpRequest, model_admin: Any) -> list[tuple[str, str]]:
        return [("yes", "In care"), ("no", "Left care")]

    def queryset(self, request: HttpRequest, queryset: QuerySet[Bird]) -> QuerySet[Bird]:
        if self.value() not in ("yes", "no"):
            return queryset
        return queryset.filter(outcome_at__isnull=self.value() == "yes")


class RecordInline(admin.TabularInline):
    """A bird's records of one kind, as they stand."""

    extra = 0
    can_delete = False
    show_change_link = False

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return OperatorAdmin._is_operator(request)

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class WeighingInline(RecordInline):
    model = Weighing
    fields = ("at", "mass_g", "context", "state", "note")


class CropCheckInline(RecordInline):
    model = CropCheck
    fields = ("at", "crop", "crop_content", "crop_wall", "note")


class FeedInline(RecordInline):
    model = Feed
    fields = ("at", "purpose", "food", "volume_ml", "mass_g", "temperature_c", "response", "note")


class MilestoneInline(RecordInline):
    model = Milestone
    fields = ("observed_at", "key", "seen", "note")


@admin.register(Bird)
class BirdAdmin(ReadOnly, OperatorAdmin):
    list_display = ("name", "network", "site", "species", "hatched_on", "intake_at", "outcome_kind")
    list_filter = (InCareFilter, "network", "species", "outcome_kind")
    list_select_related = ("network", "site")
    search_fields = ("name", "uid", "species", "site__name")
    fields = (
        "name",
        "network",
        "site",
        ("species", "species_certainty"),
        ("hatched_on", "hatched_at", "age_estimate"),
        ("sex", "strain", "adult_mass_g"),
        ("origin", "aim", "rearing", "isolation"),
        ("intake_at", "intake_reason", "intake_located_at", "intake_finder_fed"),
        "formula_key",
        "note",
        ("outcome_kind", "outcome_at", "outcome_told"),
        ("uid", "version", "recorded_at", "changed_at"),
    )
    inlines = (WeighingInline, CropCheckInline, FeedInline, MilestoneInline)

    def has_delete_permission(self, request: HttpRequest, obj: Bird | None = None) -> bool:
        return False
