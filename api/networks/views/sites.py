"""The sites of a network."""

from typing import Any

from django.db.models import QuerySet

from api.networks import selectors, services
from api.networks.models import Site
from api.networks.rules.roles import Part
from api.networks.serializers import SiteChangeIn, SiteIn, SiteOut
from api.networks.views.described import described_list, described_one, described_versions
from api.networks.views.records import Made, RecordListView, RecordVersionsView, RecordView

READ, WRITE = "sites:read", "sites:write"


@described_list("site", "sites", SiteOut)
class SiteListView(RecordListView):
    part = Part.SITES
    required_scopes = {"GET": READ, "POST": WRITE}
    serializer_in = SiteIn

    def rows(self) -> QuerySet[Site]:
        return selectors.sites(self.caller)

    def make(self, **fields: Any) -> Made:
        return services.site_create(**fields)


@described_one("site", "sites", SiteOut)
class SiteView(RecordView):
    part = Part.SITES
    required_scopes = {"GET": READ, "PATCH": WRITE, "DELETE": WRITE}
    of = SiteListView
    serializer_change = SiteChangeIn

    def change(self, record: Site, **fields: Any) -> None:
        services.site_change(record, **fields)

    def remove(self, record: Site) -> None:
        services.site_remove(record)


@described_versions("site", "sites")
class SiteVersionsView(RecordVersionsView):
    part = Part.SITES
    required_scopes = {"GET": READ}
    of = SiteListView
    kind = Site.KIND
