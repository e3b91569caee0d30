"""Looks at a bird or a site after something was recorded of it. To look twice at the same record changes nothing."""

import logging
from datetime import datetime, timedelta
from uuid import UUID

from api.alerts import selectors
from api.alerts.models import Resolution
from api.alerts.rules import crop, feeding, growth, outcomes
from api.alerts.services.course import alert_changed, alert_end, alerts_follow
from api.birds.models import Bird, Weighing
from api.birds.services import weighing_question
from api.networks.models import Site
from api.outbox.services import left_site, record_change, unit_of_work
from api.tenancy.scope import network_scope
from api.web import clock
from species.domain.errors import DomainError

logger = logging.getLogger(__name__)

#: An alert of deaths ends by itself after a week: twice that far back.
DEATHS_LOOKED_BACK = timedelta(days=14)


def bird_look(bird_uid: UUID) -> None:
    """Judge all that is recorded of a bird. Its weights come first: how much of a feed is too much is told by them."""
    with unit_of_work():
        bird_growth_look(bird_uid)
        bird_record_look(bird_uid)


def bird_growth_look(bird_uid: UUID) -> None:
    """Judge a bird's weights: question those that cannot be its own, and bring its alerts to what the others say."""
    with unit_of_work():
        bird = _in_care(bird_uid)
        if bird is None:
            return
        try:
            seen = _growth_seen(bird)
        except DomainError:  # its weights cannot be judged: what was told of it stands until they can
            return
        alerts_follow(site=bird.site, bird=bird, codes=growth.CODES, looks=seen.looks, covered_from=seen.covered_from)


def bird_record_look(bird_uid: UUID) -> None:
    """Judge a bird's crop and its feeds, and bring its alerts to what they say."""
    with unit_of_work():
        bird = _in_care(bird_uid)
        if bird is None:
            return
        covered_from, of_crop, of_feeds = selectors.record_looks(bird)
        for codes, looks in ((crop.CODES, of_crop), (feeding.CODES, of_feeds)):
            alerts_follow(site=bird.site, bird=bird, codes=codes, looks=looks, covered_from=covered_from)


def bird_outcome_look(bird_uid: UUID) -> None:
    """End the alerts of a bird that has left care, and tell of deaths at its site that lie together."""
    with unit_of_work():
        _in_care(bird_uid)
        site_deaths_look(Bird.ever.select_related("site").get(uid=bird_uid).site.uid)


def site_deaths_look(site_uid: UUID) -> None:
    """Tell of deaths at a site that lie together, and end that alert once they are long past."""
    with unit_of_work():
        site = Site.ever.select_for_update(of=("self",), no_key=True).get(uid=site_uid)
        since = clock.now() - DEATHS_LOOKED_BACK
        looks = outcomes.outcome_looks(selectors.deaths(site, since=since))
        alerts_follow(site=site, codes=outcomes.CODES, looks=looks, covered_from=since)


def sites_look(now: datetime) -> None:
    """End the alerts that time alone ends; what the dispatcher does at every turn."""
    for network_id, site_uid in selectors.sites_quiet(now):
        try:
            with network_scope(network_id):
                site_deaths_look(site_uid)
        except Exception:  # one site's trouble must not keep the dispatcher from all others
            logger.exception("no look at the deaths of site %s", site_uid)


def _in_care(bird_uid: UUID) -> Bird | None:
    """The bird, held until the look is over, its alerts at the site where it is now.

    None where it is no longer in care: then its alerts are ended.
    """
    held = Bird.ever.select_related("site").select_for_update(of=("self",), no_key=True)
    bird: Bird = held.get(uid=bird_uid)
    alerts = selectors.standing(bird=bird)
    if bird.gone_at is not None or not bird.in_care:
        ending = Resolution.LEFT_CARE if bird.gone_at is None else Resolution.WITHDRAWN
        for alert in alerts:
            alert_end(alert, ending, now=clock.now())
        return None
    for alert in alerts:
        if alert.site_id != bird.site_id:
            left = alert.site
            record_change(alert, site=bird.site)
            alert_changed(alert, None)
            left_site([alert], left=left.uid, joined=bird.site.uid)
    return bird


def _growth_seen(bird: Bird) -> selectors.GrowthSeen:
    """What its mornings say once every weight that cannot be its own is questioned: no alert is reckoned from one.

    Without a questioned weight another may be seen for what it is, so it goes on until there is none left.
    """
    seen = selectors.growth_seen(bird)
    while seen.doubted:
        for doubt in seen.doubted:
            weighing = Weighing.objects.get(uid=doubt.weighing_id)
            weighing_question(weighing=weighing, expected_g=doubt.expected_g, meant_g=doubt.meant_g)
        seen = selectors.growth_seen(bird)
    return seen
