"""A species' growth curve, drawn on its page in the admin; and how any chart stands on such a page."""

import base64
from typing import Any

from django.apps import apps
from django.contrib import admin
from django.utils.html import format_html
from django.utils.safestring import SafeString

from api.catalog.rules.chart import species_chart
from species.admin import SpeciesProfileAdmin
from species.selectors import profile_get


def chart_shown(wide: str, narrow: str, *, says: str) -> SafeString:
    """A chart as a picture of the page, the narrow one on a phone.

    Parameters
    ----------
    wide, narrow
        SVG text.
    says
        What it shows, for those who do not see it.
    """
    return format_html(
        "<style>.readonly:has(picture){{flex:1;min-width:0}}</style>"
        '<picture><source media="(max-width: 767px)" srcset="{}"><img src="{}" alt="{}" '
        'style="display:block;width:100%;max-width:840px;height:auto"></picture>',
        _as_data(narrow),
        _as_data(wide),
        says,
    )


class DrawnSpeciesAdmin(SpeciesProfileAdmin):
    fields = ("key", "pack", "retired", "current", "growth_curve", "values")
    readonly_fields = ("growth_curve", "values")

    @admin.display(description="growth curve")
    def growth_curve(self, species: Any) -> SafeString | str:
        profile, _ = profile_get(species.key)
        if profile.growth_curve is None:
            return "None is known."
        wide, narrow = (species_chart(profile, profile.growth_curve, compact=compact) for compact in (False, True))
        return chart_shown(wide, narrow, says=f"Growth of {profile.vernacular_name}, with its centiles")


# The room of species knows no charts of the service; the drawing joins its page here.
_species = apps.get_model("species", "SpeciesProfile")
admin.site.unregister(_species)
admin.site.register(_species, DrawnSpeciesAdmin)


def _as_data(svg: str) -> str:
    return f"data:image/svg+xml;base64,{base64.b64encode(svg.encode()).decode()}"
