"""How birds of a site left care, for whoever looks whether deaths lie together."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from uuid import UUID

from api.alerts.models import Alert
from api.alerts.rules.outcomes import CODES, Death
from api.alerts.rules.quiet import quiet_of
from api.alerts.selectors.alerts import NOT_RESOLVED
from api.birds.models import Bird
from api.birds.rules.words import OutcomeKind
from api.networks.models import Site
from api.tenancy.scope import all_networks
from api.web.rules.cautions import Severity


def deaths(site: Site, *, since: datetime) -> list[Death]:
    """Outcomes of the birds of a site, of every kind."""
    left = Bird.objects.filter(site=site, outcome_at__gte=since).order_by("outcome_at", "row")
    return [
        Death(bird=str(bird.uid), at=bird.outcome_at, kind=OutcomeKind(bird.outcome_kind), admitted_at=bird.intake_at)
        for bird in left
        if bird.outcome_at is not None and bird.outcome_kind is not None
    ]


def sites_quiet(now: datetime) -> Iterator[tuple[UUID, UUID]]:
    """Network and site where nobody has died for so long that an alert of deaths is over: no event will say so."""
    with all_networks("alerts of deaths that are over by time alone"):
        found = [
            (alert.network_id, alert.site.uid)
            for code in CODES
            for alert in Alert.objects.select_related("site").filter(
                NOT_RESOLVED,
                bird__isnull=True,
                code=code,
                last_found_at__lte=now - timedelta(hours=quiet_of(code, Severity.URGENT).since_found_h),
            )
        ]
    yield from found
