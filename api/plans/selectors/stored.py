"""The plans of stored birds: what was recorded of them is fetched here, the rules do the rest."""

from collections.abc import Sequence
from copy import copy
from datetime import date, datetime
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

import msgspec
from django.db.models import Prefetch, QuerySet, prefetch_related_objects
from django.db.models.functions import Coalesce

from api.birds.models import Bird, CropCheck, Feed
from api.birds.rules.words import (
    Aim,
    Certainty,
    Crop,
    CropContent,
    CropWall,
    Origin,
    Purpose,
    Rearing,
    Response,
    Sex,
)
from api.catalog.rules.strain import refuse_other_adult_mass
from api.growth.selectors.records import growth_kept, of_the_record, species_of, with_growth
from api.kitchen.rules.powders import Powder
from api.kitchen.selectors import own_powders
from api.networks.models import Site
from api.plans.rules.care import CareKept, CropLook, FeedKept
from api.plans.rules.planning import feeding_plan
from api.plans.rules.plausible import refuse_contradictions
from api.plans.rules.request import FeedingDay
from api.plans.rules.stored import asked_of_record, unknown_powder
from api.web import clock
from api.web.build import BUILD
from species import selectors as species_selectors
from species.domain.errors import ConflictError, DomainError
from species.domain.food import Food, Formula
from species.domain.record import Record

#: Feeds and looks that a plan goes back to: more than anybody gives or takes in the day that they speak for.
LAST_FEEDS, LAST_LOOKS = 60, 20
#: What is wrong with the day that was asked for, not with the record.
OF_THE_DAY = frozenset({"hatched_in_the_future", "too_old"})


class FedWith(Record, frozen=True, kw_only=True):
    """What a bird is fed with: its own powder, its site's, or its species' usual one; and the foods of its stages."""

    powder: Powder | None
    formula: Formula | None
    foods: dict[str, Food]
    unknown_key: str | None = None


def with_plans(birds: Sequence[Bird]) -> None:
    """Fetch what :func:`plan_of` reads of birds: for all of them as many queries as for one of each species."""
    with_growth(birds)
    prefetch_related_objects(
        birds,
        "site__kitchen",
        Prefetch("feeds", queryset=_feeds(), to_attr="last_feeds"),
        Prefetch("crop_checks", queryset=CropCheck.objects.order_by("-at", "-row")[:LAST_LOOKS], to_attr="last_looks"),
    )
    own = own_powders(key for bird in birds if (key := _powder_key(bird)))
    formula, foods = cache(_formula), cache(species_selectors.foods_get)
    for bird in birds:
        try:
            profile = species_of(bird)[0].profile
        except DomainError:  # plan_of says so
            continue
        key = _powder_key(bird)
        listed = formula(key) if key and key not in own else None
        default = profile.default_formula
        bird.fed_with = FedWith(  # type: ignore[attr-defined]
            powder=own.get(key) if key else None,
            formula=listed or (formula(default) if default else None),
            foods=foods(tuple(dict.fromkeys(food for stage in profile.stages for food in stage.foods))),
            unknown_key=key if key and key not in own and listed is None else None,
        )


def plan_of(bird: Bird, on: date | None = None, now: datetime | None = None) -> dict[str, Any]:
    """A stored bird's plan, field by field, and what computed it.

    Its queries do not grow with its records; it makes none for birds that :func:`with_plans` was called for.

    Parameters
    ----------
    bird
        In care.
    on
        The day, where the bird is; today where missing.
    now
        The present instant; the clock's where missing.

    Raises
    ------
    ConflictError
        ``bird_left_care``; ``age_missing`` and whatever else the record does not allow a plan from.
    DomainError
        At ``/on``: a day before it hatched, or beyond any rearing.
    """
    if not bird.in_care:
        raise ConflictError(
            "This bird has left care, and no plan is made for it.",
            code="bird_left_care",
            remedy="If it is still here, correct its outcome first.",
        )
    bird, now = _fetched(bird), now or clock.now()
    try:
        with of_the_record():
            return _plan(bird, on or now.astimezone(ZoneInfo(bird.site.time_zone)).date(), now)
    except ConflictError as error:
        if on is None or error.code not in OF_THE_DAY:
            raise
        raise DomainError(error.detail, field="/on", code=error.code, remedy="Ask for another day.") from error


def _plan(bird: Bird, on: date, now: datetime) -> dict[str, Any]:
    known, revision = species_of(bird)
    fed_with: FedWith = bird.fed_with  # type: ignore[attr-defined]
    asked = asked_of_record(known, growth_kept(bird), care_kept(bird), on=on, now=now, powder=fed_with.powder)
    refuse_other_adult_mass(adult_mass_g=bird.adult_mass_g, usual_g=known.profile.masses.adult_g.value)
    refuse_contradictions(asked.request, now=now)
    plan = feeding_plan(
        known,
        asked.request,
        now=now,
        formula=fed_with.formula,
        foods=fed_with.foods,
        recorded=(*asked.cautions, *unknown_powder(fed_with.unknown_key)),
    )
    return {"bird_id": bird.uid, **msgspec.structs.asdict(plan), "computed_by": {"revision": revision, "build": BUILD}}


def care_kept(bird: Bird) -> CareKept:
    """A bird's record in plain values, of what :func:`with_plans` has fetched."""
    return CareKept(
        intake_at=bird.intake_at,
        feeds=tuple(_feed(row) for row in reversed(bird.last_feeds)),  # type: ignore[attr-defined]
        looks=tuple(_look(row) for row in reversed(bird.last_looks)),  # type: ignore[attr-defined]
        feeding_day=_feeding_day(bird.site),
        sex=Sex(bird.sex),
        brood_size=bird.brood_size,
        rearing=Rearing(bird.rearing),
        origin=Origin(bird.origin),
        aim=Aim(bird.aim),
        species_certainty=Certainty(bird.species_certainty),
    )


def _fetched(bird: Bird) -> Bird:
    """The bird with what :func:`with_plans` fetches; of one that has it not a copy, on which nothing can go stale."""
    if hasattr(bird, "last_feeds"):
        return bird
    own = copy(bird)
    with_plans([own])
    return own


def _feeds() -> QuerySet[Feed]:
    """A run of feeds counts by its end."""
    return Feed.objects.order_by(Coalesce("until", "at").desc(), "-row")[:LAST_FEEDS]


def _powder_key(bird: Bird) -> str | None:
    kitchen = getattr(bird.site, "kitchen", None)
    return bird.formula_key or (kitchen.formula_key if kitchen is not None else None)


def _formula(key: str) -> Formula | None:
    try:
        return species_selectors.formula_get(key)
    except DomainError:  # removed since it was chosen
        return None


def _feed(row: Feed) -> FeedKept:
    return FeedKept(
        at=row.until or row.at,
        purpose=Purpose(row.purpose),
        volume_ml=None if row.volume_ml is None else float(row.volume_ml),
        mass_g=None if row.mass_g is None else float(row.mass_g),
        dry_matter_fraction=row.dry_matter_fraction,
        response=Response(row.response) if row.response else None,
    )


def _look(row: CropCheck) -> CropLook:
    return CropLook(
        at=row.at,
        crop=Crop(row.crop),
        crop_content=CropContent(row.crop_content) if row.crop_content else None,
        crop_wall=CropWall(row.crop_wall) if row.crop_wall else None,
        last_feed_at=row.last_feed_at,
    )


def _feeding_day(site: Site) -> FeedingDay | None:
    if site.feeding_day_first is None or site.feeding_day_last is None:
        return None
    return FeedingDay(first=site.feeding_day_first, last=site.feeding_day_last)
