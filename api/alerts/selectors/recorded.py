"""What was recorded of a bird, as looks at its crop and its feeds."""

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import msgspec

from api.alerts.rules.crop import CropPractice, check_read, crop_looks, practice_of
from api.alerts.rules.feeding import FeedBands, FeedGiven, bands_of, feed_looks
from api.alerts.rules.looks import Look
from api.alerts.rules.quiet import WATCH_H
from api.birds.models import Bird, CropCheck, Feed
from api.birds.rules.words import Context, Crop, CropContent, CropWall, Purpose, Response, WeighingState
from api.catalog.rules.known import Known
from api.growth.rules.mornings import APART_AT_MOST_DAYS, one_a_day, without_gain
from api.growth.rules.record import MilestoneKept, milestones_now
from api.growth.selectors.records import growth_kept, species_of, with_growth
from api.plans.rules.bird import read_bird
from api.plans.rules.feeding_day import feeding_day_of
from api.plans.rules.request import FeedingDay, MilestoneSeen, PlanRequest
from api.web import clock
from api.web.rules.ledger import Ledger
from species.domain.errors import DomainError
from species.domain.record import Record

#: The longest watch and a day, so that a watch is seen to its end.
LOOKED_BACK = timedelta(hours=WATCH_H + 24.0)
#: Of a bird whose stage nobody knows: what is wrong by any bird's measure is still heard.
ANY_BIRD = CropPractice(has_crop=True, feathered=False, food_guild="unknown", emptying_h=None, longest_wait_h=None)


class Believed(Record, frozen=True, kw_only=True):
    """A weight that nobody doubts, as the rules of mornings want it."""

    at: datetime
    on: date
    age_days: float
    mass_g: float
    context: Context


@dataclass(frozen=True)
class Kept:
    """A bird, and what its crop and its feeds are held against."""

    bird: Bird
    zone: ZoneInfo
    known: Known | None
    believed: tuple[Believed, ...]
    milestones: tuple[MilestoneKept, ...]


def record_looks(bird: Bird) -> tuple[datetime, tuple[Look, ...], tuple[Look, ...]]:
    """Looks at a bird's crop and at its feeds, and from when on they are all of them."""
    covered_from = clock.now() - LOOKED_BACK
    feeds = list(Feed.objects.filter(bird=bird, at__gte=covered_from))
    checks = list(CropCheck.objects.filter(bird=bird, at__gte=covered_from))
    kept = _kept(bird)
    return covered_from, _crop_looks(kept, checks, feeds), _feed_looks(kept, feeds)


def _kept(bird: Bird) -> Kept:
    fetched = copy(bird)  # what is fetched for it stays with the copy, and is fetched anew next time
    with_growth([fetched])
    record, zone = growth_kept(fetched), ZoneInfo(bird.site.time_zone)
    return Kept(
        bird=bird,
        zone=zone,
        known=_known(fetched),
        believed=tuple(
            Believed(
                at=weighing.at,
                on=weighing.at.astimezone(zone).date(),
                age_days=(weighing.at - bird.intake_at) / timedelta(days=1),
                mass_g=weighing.mass_g,
                context=weighing.context,
            )
            for weighing in record.weighings
            if weighing.state is not WeighingState.QUESTIONED
        ),
        milestones=record.milestones,
    )


def _known(bird: Bird) -> Known | None:
    try:
        return species_of(bird)[0]
    except DomainError:  # a species that nobody knows yet, or one that is no longer listed
        return None


def _crop_looks(kept: Kept, checks: Sequence[CropCheck], feeds: Sequence[Feed]) -> tuple[Look, ...]:
    fed_at = [feed.until or feed.at for feed in feeds]
    practice, first = _practice(kept)
    return crop_looks(
        [
            check_read(
                at=check.at,
                crop=Crop(check.crop),
                crop_content=CropContent(check.crop_content) if check.crop_content else None,
                crop_wall=CropWall(check.crop_wall) if check.crop_wall else None,
                last_feed_at=check.last_feed_at,
                fed_at=fed_at,
                zone=kept.zone,
                first=first,
                no_gain=_no_gain(kept, check.at),
            )
            for check in checks
        ],
        practice,
    )


def _practice(kept: Kept) -> tuple[CropPractice, time]:
    """Practice of its kind at its stage now, and its first feed of a day."""
    told = _site_day(kept.bird)
    if kept.known is None:
        return ANY_BIRD, feeding_day_of(None, told).first
    request = _request(kept, clock.now().astimezone(kept.zone).date())
    try:
        bird = read_bird(kept.known, request, now=clock.now(), ledger=Ledger())
    except DomainError:  # nothing tells its age
        return msgspec.structs.replace(
            ANY_BIRD,
            has_crop=kept.known.profile.has_crop.value,
            food_guild=kept.known.profile.food_guild.value,
        ), feeding_day_of(None, told).first
    return practice_of(bird), bird.feeding_day.first


def _no_gain(kept: Kept, at: datetime) -> bool | None:
    """Whether its weights up to then stood still; null where they are too few or too old to tell."""
    days = one_a_day(weight for weight in kept.believed if weight.at <= at)
    if len(days) < 2 or at - days[-1].at > timedelta(days=1):
        return None
    if days[-1].age_days - days[-2].age_days > APART_AT_MOST_DAYS:
        return None
    return without_gain(days)[0] > 0


def _feed_looks(kept: Kept, feeds: Sequence[Feed]) -> tuple[Look, ...]:
    bands: dict[date, FeedBands | None] = {}
    return feed_looks(_given(kept, feed, bands) for feed in feeds)


def _given(kept: Kept, feed: Feed, bands: dict[date, FeedBands | None]) -> FeedGiven:
    on = feed.at.astimezone(kept.zone).date()
    told = (feed.temperature_c, feed.dry_matter_fraction, feed.volume_ml, feed.mass_g)
    if on not in bands and any(value is not None for value in told):
        bands[on] = _bands(kept, on)
    return FeedGiven(
        at=feed.at,
        purpose=Purpose(feed.purpose),
        volume_ml=_number(feed.volume_ml),
        mass_g=_number(feed.mass_g),
        temperature_c=_number(feed.temperature_c),
        dry_matter_fraction=feed.dry_matter_fraction,
        response=Response(feed.response) if feed.response else None,
        bands=bands.get(on),
    )


def _bands(kept: Kept, on: date) -> FeedBands | None:
    """Bands of a day; without them heat alone is judged."""
    if kept.known is None:
        return None
    try:
        return bands_of(kept.known, _request(kept, on), now=clock.now())
    except DomainError:  # nothing tells its age, or it cannot be true of such a bird
        return None


def _request(kept: Kept, on: date) -> PlanRequest:
    """The bird as it was on a day, as its feeding plan is asked for."""
    bird, estimate = kept.bird, kept.bird.age_estimate
    weights = one_a_day(weight for weight in kept.believed if weight.on <= on)
    return PlanRequest(
        on=on,
        time_zone=kept.zone.key,
        time_zone_given=True,
        age_days=estimate["days"] + (on - date.fromisoformat(estimate["on"])).days if estimate else None,
        hatched_on=bird.hatched_on,
        hatched_at=bird.hatched_at,
        mass_g=weights[-1].mass_g if weights and (on - weights[-1].on).days <= 1 else None,
        feeding_day=_site_day(bird),
        milestones=_shown(kept, on),
        adult_mass_g=bird.adult_mass_g,
        strain=bird.strain,
    )


def _shown(kept: Kept, on: date) -> tuple[MilestoneSeen, ...]:
    """What was told last of each step of its development, by the end of a day."""
    so_far = tuple(step for step in kept.milestones if step.observed_at.astimezone(kept.zone).date() <= on)
    return tuple(MilestoneSeen(key=key, seen=seen) for key, seen in milestones_now(so_far).items())


def _site_day(bird: Bird) -> FeedingDay | None:
    first, last = bird.site.feeding_day_first, bird.site.feeding_day_last
    return FeedingDay(first=first, last=last) if first is not None and last is not None else None


def _number(value: object) -> float | None:
    return None if value is None else float(value)  # type: ignore[arg-type]
