"""The species reference in the admin: to be read, with the source beside every value. Nothing is written here."""

from typing import Any

import msgspec
from django.contrib import admin
from django.db.models import Model, QuerySet
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from species.domain.profile import Profile, ProfileCaution
from species.domain.record import Record
from species.domain.sourcing import Band, Flag, Quantity, Sourced, Statement
from species.domain.stage import Ages, PrintedVolume
from species.models import LoadedPack, PackEntry, ProfileRevision, SpeciesProfile
from species.packs.sourced import provenance_counts, sourced_values
from species.selectors import profile_list, sources_get

_PROVENANCE = {field.name for field in msgspec.structs.fields(Sourced)}


class ReadOnlyAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    """Lists and shows; a pack or a reviewed proposal is the way to change something."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False


@admin.register(SpeciesProfile)
class SpeciesProfileAdmin(ReadOnlyAdmin):
    list_display = ("key", "scientific_name", "order", "family", "evidence", "retired", "current")
    list_filter = ("evidence", "order", "food_guild", "retired")
    list_select_related = ("current",)
    search_fields = ("key", "scientific_name")
    search_help_text = "Any name, in spite of case, accents and slips; retired species by key or scientific name."
    fields = ("key", "pack", "retired", "current", "values")
    readonly_fields = ("values",)

    def get_search_results(
        self, request: HttpRequest, queryset: QuerySet[SpeciesProfile], search_term: str
    ) -> tuple[QuerySet[SpeciesProfile], bool]:
        found, repeats = super().get_search_results(request, queryset, search_term)
        if search_term:
            keys = [listed.key for listed in profile_list(search=search_term)[1]]
            found = found | queryset.filter(key__in=keys)
        return found, repeats

    @admin.display(description="values")
    def values(self, species: SpeciesProfile) -> SafeString | str:
        return profile_table(species.current) if species.current else "-"


@admin.register(ProfileRevision)
class ProfileRevisionAdmin(ReadOnlyAdmin):
    list_display = ("profile", "number", "published_at", "pack_key", "pack_version", "changed")
    list_filter = ("pack_key",)
    list_select_related = ("profile",)
    search_fields = ("profile__key", "profile__scientific_name", "note")
    fields = ("profile", "number", "published_at", "pack_key", "pack_version", "note", "difference", "values")
    readonly_fields = ("difference", "values")

    @admin.display(description="values changed")
    def changed(self, revision: ProfileRevision) -> int:
        return len(revision.changes)

    @admin.display(description="since the revision before")
    def difference(self, revision: ProfileRevision) -> SafeString:
        return render_to_string("admin/species/changes.html", {"changes": revision.changes})

    @admin.display(description="values")
    def values(self, revision: ProfileRevision) -> SafeString:
        return profile_table(revision)


@admin.register(LoadedPack)
class LoadedPackAdmin(ReadOnlyAdmin):
    list_display = ("key", "version", "title", "licence", "loaded_at")


@admin.register(PackEntry)
class PackEntryAdmin(ReadOnlyAdmin):
    list_display = ("kind", "key", "pack", "retired")
    list_filter = ("kind", "pack", "retired")
    list_select_related = ("pack",)
    search_fields = ("key", "document")


def profile_table(revision: ProfileRevision) -> SafeString:
    """Every value of a revision as a row: where it stands, what it is, how near its source, which source."""
    profile = msgspec.convert(revision.document, Profile)
    rows = [
        {
            "place": _place(profile, pointer),
            "value": spoken(value),
            "reach": value.reach,
            "behind": value.equation or "; ".join(value.sources),
            "note": value.note or "",
        }
        for pointer, value in sourced_values(profile)
    ]
    keys = {reference.split(" ", 1)[0] for _, value in sourced_values(profile) for reference in value.sources}
    sources = sources_get(keys, revision.pack_key)
    return render_to_string(
        "admin/species/profile.html",
        {
            "profile": profile,
            "counts": provenance_counts(profile),
            "rows": rows,
            "sources": [sources[key] for key in sorted(sources)],
        },
    )


def spoken(value: Sourced) -> str:
    """A value without its provenance, as a reader writes it: ``8 to 24, usually 12``."""
    match value:
        case Quantity():
            return f"{value.value:g}"
        case Flag():
            return "yes" if value.value else "no"
        case Band():
            usual = "" if value.usual is None else f", usually {value.usual:g}"
            return f"{value.low:g} to {value.high:g}{usual}"
        case Ages():
            return f"from day {value.from_day:g}" + ("" if value.to_day is None else f" to day {value.to_day:g}")
        case Statement():
            return value.text + _days(value)
        case PrintedVolume():
            upper = "" if value.to_g is None else f" to {value.to_g:g} g"
            return f"from {value.from_g:g} g{upper}: {value.low_ml:g} to {value.high_ml:g} mL"
    fields = (field.name for field in msgspec.structs.fields(value) if field.name not in _PROVENANCE)
    return "; ".join(str(getattr(value, name)) for name in fields)


def _days(value: Statement) -> str:
    """When a caution holds, where it does not hold for good."""
    if not isinstance(value, ProfileCaution) or (value.from_day == 0 and value.to_day is None):
        return ""
    return f" (from day {value.from_day:g}" + (")" if value.to_day is None else f" to day {value.to_day:g})")


def _place(profile: Profile, pointer: str) -> str:
    """A pointer with the keys of stages and milestones in place of their numbers."""
    place: Any = profile
    words = []
    for step in pointer.split("/")[1:]:
        place = place[int(step)] if isinstance(place, tuple) else getattr(place, step)
        name = next((str(getattr(place, field)) for field in ("key", "code", "method") if hasattr(place, field)), step)
        words.append(name if isinstance(place, Record) and step.isdigit() else step)
    return " / ".join(words)
