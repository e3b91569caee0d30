"""A bird's growth chart on its page in the admin."""

from django.contrib import admin
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from api.birds.admin import BirdAdmin
from api.birds.models import Bird
from api.growth.selectors.stored import bird_chart
from species.domain.errors import DomainError

admin.site.unregister(Bird)


@admin.register(Bird)
class BirdWithChartAdmin(BirdAdmin):
    """The bird's page, begun by what most of its readers came for."""

    fields = ("growth", *BirdAdmin.fields)
    readonly_fields = ("growth",)

    @admin.display(description="Growth")
    def growth(self, bird: Bird) -> SafeString:
        try:
            chart = bird_chart(bird)
        except DomainError as refused:  # not weighed yet, or of a kind whose growth nobody has measured
            return format_html("{}", str(refused))
        # Our own SVG writer's text, in which every word that a person typed is escaped.
        return format_html('<div style="max-width: 720px">{}</div>', mark_safe(chart))  # noqa: S308
