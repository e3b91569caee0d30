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
from api.birds.rules.words import Crop, CropContent, CropWall, Purpose, Response, WeighingState
from api.catalog.rules.known import Known
from api.catalog.rules.strain import curve_of_strain
from api.growth.rules.gaining import GROWING_WEIGHED_WITHIN, DayWeight, day_weights, is_growing, stands_still
from api.growth.rules.record import GrowthKept, MilestoneKept, WeighingKept, milestones_now
from api.growth.rules.series import hatched_at
from api.growth.rules.stored import age_known, asked_of
from api.growth.selectors.records import growth_kept, species_of, with_growth
from api.plans.rules.bird import read_bird
from api.plans.rules.feeding_day import feeding_day_of
from api.plans.rules.request import FeedingDay, MilestoneSeen, PlanRequest
from api.web import clock
from api.web.rules.ledger import Ledger
from species.domain.errors import DomainError

#: The longest watch and a day, so that a watch is seen to its end.
LOOKED_BACK = timedelta(hours=WATCH_H + 24.0)
#: Of a bird whose stage nobody knows: what is wrong by any bird's measure is still heard.
ANY_BIRD = CropPractice(has_crop=True, feathered=False, food_guild="unknown", emptying_h=None, longest_wait_h=None)


@dataclass(frozen=True)
class Kept:
    """A bird, and what its crop and its feeds are held against. Null where nobody knows its species, or its age."""

    bird: Bird
    zone: ZoneInfo
    known: Known | None
    hatched_at: datetime | None
    believed: tuple[WeighingKept, ...]
    milestones: tuple[MilestoneKept, ...]

    def days(self, until: datetime) -> tuple[DayWeight, ...]:
        """A weight of each day that nobody doubts, up to an instant."""
        return day_weights([one for one in self.believed if one.at <= until], self.zone.key)

    def age_days(self, at: datetime) -> float | None:
        return None if self.hatched_at is None else max((at - self.hatched_at) / timedelta(days=1), 0.0)


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
    record, known = growth_kept(fetched), _known(fetched)
    return Kept(
        bird=bird,
        zone=ZoneInfo(record.time_zone),
        known=known,
        hatched_at=_hatched_at(known, record),
        believed=tuple(one for one in record.weighings if one.state is not WeighingState.QUESTIONED),
        milestones=record.milestones,
    )


def _known(bird: Bird) -> Known | None:
    try:
        return species_of(bird)[0]
    except DomainError:  # a species that nobody knows yet, or one that is no longer listed
        return None


def _hatched_at(known: Known | None, record: GrowthKept) -> datetime | None:
    """When it hatched by its record, or as its first weight and what it showed then say."""
    if known is None:
        return None
    try:
        age = age_known(known, record, record.weighings)
        return hatched_at(asked_of(record, age, ()))[0]
    except DomainError:
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
    told, now = _site_day(kept.bird), clock.now()
    if kept.known is None:
        return ANY_BIRD, feeding_day_of(None, told).first
    try:
        bird = read_bird(kept.known, _request(kept, now.astimezone(kept.zone).date()), now=now, ledger=Ledger())
    except DomainError:  # nothing tells its age
        profile = kept.known.profile
        guild, has_crop = profile.food_guild.value, profile.has_crop.value
        practice = msgspec.structs.replace(ANY_BIRD, has_crop=has_crop, food_guild=guild)
        return practice, feeding_day_of(None, told).first
    return practice_of(bird), bird.feeding_day.first


def _no_gain(kept: Kept, at: datetime) -> bool | None:
    """Whether its weights up to then stood still; null where they are too few or too old to tell."""
    days, age_days = kept.days(at), kept.age_days(at)
    if not days or at - days[-1].at > GROWING_WEIGHED_WITHIN or kept.known is None or age_days is None:
        return None
    growing = is_growing(curve_of_strain(kept.known.profile, kept.bird.adult_mass_g), age_days)
    return stands_still(days, None, growing=growing)


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
    bird, noon = kept.bird, datetime.combine(on, time(12), tzinfo=kept.zone)
    told = bird.hatched_on is not None or bird.hatched_at is not None
    days = kept.days(datetime.combine(on, time.max, tzinfo=kept.zone))
    return PlanRequest(
        on=on,
        time_zone=kept.zone.key,
        time_zone_given=True,
        age_days=None if told else kept.age_days(noon),
        hatched_on=bird.hatched_on,
        hatched_at=bird.hatched_at,
        mass_g=days[-1].mass_g if days and (on - days[-1].on).days <= 1 else None,
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
