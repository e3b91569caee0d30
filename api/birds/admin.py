"""The operators' view of birds: to read. What is recorded is changed over the API, which keeps every version."""

from datetime import date
from typing import Any

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest

from api.birds.models import Bird, Weighing
from api.tenancy.admin import OperatorAdmin, ReadOnly


class InCareFilter(admin.SimpleListFilter):
    """Birds that are here, or that have left."""

    title = "in care"
    parameter_name = "in_care"

    def lookups(self, request: HttpRequest, model_admin: Any) -> list[tuple[str, str]]:
        return [("yes", "In care"), ("no", "Has left")]

    def queryset(self, request: HttpRequest, queryset: QuerySet[Bird]) -> QuerySet[Bird] | None:
        return queryset.filter(outcome_at__isnull=self.value() == "yes") if self.value() in ("yes", "no") else None


class WeighingInline(admin.TabularInline):
    model = Weighing
    fields = ("at", "mass_g", "context", "state", "note")
    readonly_fields = fields
    ordering = ("-at", "-row")
    extra = 0
    can_delete = False
    show_change_link = False

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return True  # whoever sees the bird

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(Bird)
class BirdAdmin(ReadOnly, OperatorAdmin):
    list_display = ("name", "here", "network", "site", "kind", "since")
    list_filter = (
        InCareFilter,
        ("network", admin.RelatedOnlyFieldListFilter),
        ("site", admin.RelatedOnlyFieldListFilter),
        "species",
    )
    list_select_related = ("network", "site")
    search_fields = ("name", "species", "uid", "site__name", "network__name")
    search_help_text = "Its name or id, its species' key, its site or network."
    date_hierarchy = "intake_at"
    inlines = (WeighingInline,)
    fieldsets = (
        (None, {"fields": ("name", "network", "site", "uid", "version", "recorded_at", "changed_at")}),
        (
            "What it is",
            {
                "fields": (
                    "species",
                    "unlisted_species",
                    "species_certainty",
                    "mark",
                    "sex",
                    "strain",
                    "adult_mass_g",
                    "hatched_on",
                    "hatched_at",
                    "age_estimate",
                )
            },
        ),
        (
            "Its care",
            {
                "fields": (
                    "intake_at",
                    "intake_reason",
                    "intake_located_at",
                    "intake_finder_fed",
                    "origin",
                    "aim",
                    "rearing",
                    "brood_size",
                    "isolation",
                    "formula_key",
                    "note",
                    "outcome_kind",
                    "outcome_at",
                    "outcome_told",
                )
            },
        ),
    )
    readonly_fields = tuple(name for _, part in fieldsets for name in part["fields"])

    class Media:
        css = {"all": ("birds/admin.css",)}

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    @admin.display(description="species", ordering="species")
    def kind(self, bird: Bird) -> str:
        return bird.species or (bird.unlisted_species or {}).get("scientific_name") or "not known"

    @admin.display(description="since", ordering="intake_at")
    def since(self, bird: Bird) -> date:
        return bird.intake_at.date()

    @admin.display(description="in care", boolean=True)
    def here(self, bird: Bird) -> bool:
        return bird.in_care
