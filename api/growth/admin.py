"""A stored bird's growth, drawn on its page in the admin."""

from django.contrib import admin
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from api.birds.admin import BirdAdmin
from api.birds.models import Bird
from api.catalog.admin import chart_shown
from api.growth.rules.chart import assessment_chart
from api.growth.selectors.stored import growth_of
from species.domain.errors import ConflictError


class GrowingBirdAdmin(BirdAdmin):
    fieldsets = (
        BirdAdmin.fieldsets[0],
        ("How it grows", {"fields": ("growth",)}),
        *BirdAdmin.fieldsets[1:],
    )
    readonly_fields = (*BirdAdmin.readonly_fields, "growth")

    @admin.display(description="growth")
    def growth(self, bird: Bird) -> SafeString | str:
        try:
            growth = growth_of(bird)
        except ConflictError as error:
            return error.detail
        wide, narrow = (
            assessment_chart(growth.known, growth.judged.asked, growth.assessment, compact=compact)
            for compact in (False, True)
        )
        return format_html(
            '<p>{}</p><ul style="margin:0;padding:0">{}</ul>{}',
            growth.assessment.status.replace("_", " ").capitalize() + ".",
            format_html_join(
                "",
                "<li><strong>{}</strong> ({}) {}</li>",
                (
                    (finding.code, finding.severity.replace("_", " "), finding.text)
                    for finding in growth.assessment.findings
                ),
            ),
            chart_shown(wide, narrow, says=f"Growth of {bird.name}: its weights among those of its species"),
        )


# The room of birds knows no growth; it joins the bird's page here.
admin.site.unregister(Bird)
admin.site.register(Bird, GrowingBirdAdmin)
