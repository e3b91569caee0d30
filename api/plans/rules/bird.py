"""One bird as the plan sees it: what is known of its species, and what was read from what was told."""

from datetime import datetime
from zoneinfo import ZoneInfo

import msgspec

from api.catalog.rules.known import Known
from api.catalog.rules.strain import curve_of_strain
from api.growth.rules.asked import FEATHERED
from api.plans.rules import ageing, expecting, staging
from api.plans.rules.feeding_day import feeding_day_of, no_feed_yet
from api.plans.rules.plan import Age, Mass
from api.plans.rules.request import FeedingDay, PlanRequest
from api.plans.rules.seen import Seen
from api.web.rules.ledger import Ledger
from species.domain.growth_curve import GrowthCurve
from species.domain.profile import Profile
from species.domain.record import Record
from species.domain.stage import Stage


class Bird(Record, frozen=True, kw_only=True):
    """A bird on a day, at an instant."""

    known: Known
    request: PlanRequest
    at: datetime
    curve: GrowthCurve | None
    age: Age
    mass: Mass
    stage: Stage | None
    feeding_day: FeedingDay

    @property
    def profile(self) -> Profile:
        """Profile of its species."""
        return self.known.profile

    @property
    def feathered(self) -> bool:
        """Whether it has its body feathers, by its stage or by what was seen."""
        shown = {m.key for m in self.request.milestones if m.seen}
        return bool(self.stage and self.stage.feathered) or bool(FEATHERED & shown)

    @property
    def grown(self) -> bool:
        """Whether it is full-grown for the crop rule: past the latest weaning and fledging, else at twice the latter.

        The second is inferred, for species whose weaning age no source prints. Gulls eat by themselves long before
        they fly, so weaning alone does not make a bird grown.
        """
        weaning, fledging = self.profile.weaning.age_days, self.profile.fledging_days
        if weaning is not None:
            return self.age.days >= max(weaning.high, fledging.high if fledging else 0.0)
        return fledging is not None and self.age.days >= 2 * fledging.high


def read_bird(known: Known, request: PlanRequest, *, now: datetime, ledger: Ledger) -> Bird:
    """Read age, mass and stage from what was told.

    Raises
    ------
    DomainError
        If what was told cannot be true of such a bird, or no age can be had from it.
    """
    profile = known.profile
    curve = curve_of_strain(profile, request.adult_mass_g)
    age = ageing.age_read(request, curve, now=now, ledger=ledger)
    mass = expecting.mass_read(profile, curve, age, request.mass_g, ledger, lately=request.lately)
    stage = staging.stage_of(profile, age.days, request, ledger) if profile.stages else None
    return Bird(
        known=known,
        request=request,
        at=ageing.reference_instant(request, now),
        curve=curve,
        age=age,
        mass=mass,
        stage=stage,
        feeding_day=feeding_day_of(stage, request.feeding_day),
    )


def seen_of(bird: Bird, *, weaned: bool) -> Seen:
    """What the gate judges by, as plain values."""
    profile, request, condition = bird.profile, bird.request, bird.request.condition
    milestones = {m.key.value: m.seen for m in request.milestones}
    # The gate asks because of what a new arrival needs first, rest and its parents: one that has rested is past both.
    fed_already = request.lately.rested or (request.first_feed_in_care is None and request.given is not None)
    last = condition.last_feed
    told = msgspec.to_builtins(condition)
    return Seen(
        identified=bird.known.identified,
        guild_has_practice=bird.known.practised,
        species_certainty=request.species_certainty.value,
        feeding_kind=profile.feeding_kind.value,
        developmental_mode=profile.developmental_mode.value,
        food_guild=profile.food_guild.value,
        has_crop=profile.has_crop.value,
        age_h=bird.age.days * 24,
        first_feed_low_h=profile.first_feed_h.low if profile.first_feed_h else None,
        yolk_absorbed=milestones.get("yolk_absorbed"),
        feathered=bird.feathered,
        grown=bird.grown,
        feeds_itself=weaned,
        mass_g=request.mass_g,
        expected_g=bird.mass.expected_g if bird.age.basis != "estimated_from_mass" else None,
        origin=request.origin.value,
        rearing=request.rearing.value,
        first_feed_in_care=False if fed_already else request.first_feed_in_care,
        body=told["body"],
        hydration=told["hydration"],
        dehydration_fraction=condition.dehydration_fraction,
        body_condition=told["body_condition"],
        alertness=told["alertness"],
        swallowing=told["swallowing"],
        crop=told["crop"],
        crop_content=told["crop_content"],
        crop_wall=told["crop_wall"],
        droppings=told["droppings"],
        signs=told["signs"],
        hours_since_last_feed=(bird.at - last.at).total_seconds() / 3600 if last else None,
        at_dawn=no_feed_yet(
            at=bird.at,
            on=request.on,
            zone=ZoneInfo(request.time_zone),
            last_fed_at=last.at if last else None,
            first=bird.feeding_day.first,
        ),
        emptying_h=emptying_h(bird.stage),
        longest_wait_h=profile.longest_wait_h.value if profile.longest_wait_h else None,
        no_gain=request.lately.no_gain,
    )


def emptying_h(stage: Stage | None) -> float | None:
    """Longest time a crop usually takes at a stage, or else the longest interval between its feeds; null if neither."""
    if stage is None:
        return None
    if stage.crop_empties_h is not None:
        return stage.crop_empties_h.high
    return stage.interval_min.high / 60 if stage.interval_min is not None else None
