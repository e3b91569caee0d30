"""A bird without a profile: growth from its order and adult mass, warmth from its mode of development, and food
only where its guild's practice is printed and safe to borrow.

Order and mass do not tell what a chick eats: swifts fail on what rears a sparrow (HRB p.513). So an unlisted bird of
no told guild gets no food amounts at all.
"""

import math
from typing import Any

import msgspec

from api.catalog.rules.known import Known
from species.biology.allometry import GrowthPrior, growth_prior
from species.domain.errors import DomainError
from species.domain.growth_curve import GrowthCurve
from species.domain.profile import (
    Masses,
    Profile,
    ProfileCaution,
    RearingEnergy,
    Release,
    VernacularName,
    Weaning,
)
from species.domain.sourcing import Band, Evidence, Flag, Quantity, Reach
from species.domain.stage import Ages, Stage
from species.domain.vocabulary import CurveForm, DevelopmentalMode, FeedingKind, FoodGuild, StopWhen

#: Guilds whose practice may be borrowed, and from which profile: insects caught in the air, and nothing else.
#: Orders that hunt flying insects and may borrow from the swift; what else is told of a bird does not fit together.
BORROWING_ORDERS = frozenset({"Apodiformes", "Passeriformes", "Caprimulgiformes"})
PRACTICE_OF_GUILD = {FoodGuild.AERIAL_INSECTIVORE: "apus-apus"}
#: Hatching mass as a share of the asymptote: middle of the built-in profiles (0.02 heron to 0.09 kestrel).
HATCH_SHARE = 0.06
#: Spread of the asymptote between what a group's median ratio says and a real species. Inferred, wide on purpose.
LOG_ASYMPTOTE_SD = 0.25
RESIDUAL_LOG_SD = 0.08
#: Ends of the naked and of the pin stage, as shares of the fledging age (growth.md section 5, passerines and parrots).
PINS_FROM, FEATHERS_FROM = 0.35, 0.65


INSECTS_ONLY = ProfileCaution(
    code="insects_only",
    text="Whole insects only, killed, in pieces it can swallow. No blended food, meat, bread or seed.",
    reach=Reach.GROUP,
    sources=("HRB p.513",),
)


def inferred_profile(
    *,
    scientific_name: str,
    order: str,
    adult_mass_g: float,
    developmental_mode: str,
    food_guild: str | None = None,
    practice: Profile | None = None,
) -> Known:
    """Infer what can be said of a species without a profile.

    Parameters
    ----------
    scientific_name, order, adult_mass_g, developmental_mode, food_guild
        What was told of the species.
    practice
        Profile of :data:`PRACTICE_OF_GUILD` for its guild, where there is one.

    Returns
    -------
    Known
        Graded ``inferred`` throughout; growth is null where no group line is known for the order.
    """
    mode = DevelopmentalMode(developmental_mode)
    order = order.strip().capitalize()
    prior = _prior(order, adult_mass_g)
    if prior is None or order not in BORROWING_ORDERS:
        practice = None
    fledging = float(prior.fledging_days) if prior is not None and prior.fledging_days is not None else None
    precocial = mode is DevelopmentalMode.PRECOCIAL
    stages = _borrowed_stages(practice, fledging) if practice is not None else _warmth_stages(mode, fledging)
    profile = Profile(
        key="not-listed",
        scientific_name=scientific_name,
        vernacular_names=(VernacularName(name=scientific_name, language="la"),),
        order=order,
        family="",
        food_guild=FoodGuild(food_guild) if food_guild else FoodGuild.OMNIVORE,
        developmental_mode=mode,
        feeding_kind=FeedingKind.SELF_FEEDING if precocial else FeedingKind.SOLID,
        evidence=Evidence.INFERRED,
        has_crop=Flag(value=False, reach=Reach.INFERRED, equation="not known: no crop rule is applied"),
        masses=Masses(adult_g=_inferred(adult_mass_g, "as told")),
        growth_curve=_curve(prior) if prior is not None else None,
        rearing_energy=_energy(practice) if practice is not None else None,
        fledging_days=_fledging(fledging, prior),
        stages=stages,
        stop_when=StopWhen.GAPE_STOPS,
        methods=practice.methods if practice is not None else (),
        weaning=Weaning(),
        release=Release(),
        cautions=(INSECTS_ONLY,) if practice is not None else (),
    )
    return Known(profile=profile, listed=False, identified=food_guild is not None, practised=practice is not None)


def _prior(order: str, adult_mass_g: float) -> GrowthPrior | None:
    try:
        return growth_prior(order, adult_mass_g)
    except DomainError as error:
        if error.field == "adult_mass_g":
            raise DomainError(
                error.detail, field="/unlisted_species/adult_mass_g", code=error.code, remedy=error.remedy
            ) from error
        return None


def _curve(prior: GrowthPrior) -> GrowthCurve:
    asymptote, rate = float(prior.asymptote_g), float(prior.rate_per_day)
    inflection = math.log(1 / HATCH_SHARE - 1) / rate
    line = f"line of {prior.group}, {prior.species_count} species (growth.md section 2)"
    return GrowthCurve(
        form=CurveForm.LOGISTIC,
        asymptote_g=_inferred(round(asymptote, 1), f"adult mass x {prior.asymptote_ratio:g}, {line}"),
        rate_per_day=_inferred(round(rate, 4), f"K = a M^b, {line}"),
        inflection_days=_inferred(round(inflection, 2), f"ln(1/{HATCH_SHARE:g} - 1) / K"),
        log_asymptote_sd=_inferred(LOG_ASYMPTOTE_SD, "wide on purpose: one species against its group's median"),
        log_rate_sd=_inferred(round(prior.rate_log10_sd * math.log(10), 3), f"residual of log10 K x ln 10, {line}"),
        inflection_sd_days=_inferred(round(0.5 / rate, 2), "0.5 / K: hatching mass from 4 to 10 % of the asymptote"),
        residual_log_sd=_inferred(RESIDUAL_LOG_SD, "gut fill and scale, as the built-in profiles"),
        valid_to_day=round(inflection + 4 / rate, 1),
    )


def _fledging(fledging_days: float | None, prior: GrowthPrior | None) -> Band | None:
    if fledging_days is None or prior is None:
        return None
    return Band(
        low=round(fledging_days / 1.3, 1),
        high=round(fledging_days * 1.3, 1),
        usual=round(fledging_days, 1),
        reach=Reach.INFERRED,
        equation=f"f M^g, line of {prior.group} (growth.md section 2), x/ 1.3",
    )


def _energy(practice: Profile) -> RearingEnergy | None:
    return practice.rearing_energy


def _warmth_stages(mode: DevelopmentalMode, fledging_days: float | None) -> tuple[Stage, ...]:
    """Brooder bands of songbirds, or of ducklings and game birds: warmth is safe to borrow, food is not."""
    if mode is DevelopmentalMode.PRECOCIAL:
        return (
            _warm_stage("downy", "Downy, first week", 0, 7, Band(low=32, high=35, **_borrowed("HRB p.146"))),
            _warm_stage("growing", "Growing", 7, 28, Band(low=24, high=32, usual=29, **_borrowed("HRB p.102"))),
            _warm_stage("feathered", "Feathered", 28, None, None),
        )
    if fledging_days is None:
        return ()
    pins, feathers = round(PINS_FROM * fledging_days, 1), round(FEATHERS_FROM * fledging_days, 1)
    return (
        _warm_stage("naked", "Naked", 0, pins, Band(low=33.3, high=35, **_borrowed("HRB p.675"))),
        _warm_stage("pins", "Pin feathers", pins, feathers, Band(low=29.4, high=32.3, **_borrowed("HRB p.712"))),
        _warm_stage("feathered", "Feathered", feathers, None, None),
    )


def _borrowed_stages(practice: Profile, fledging_days: float | None) -> tuple[Stage, ...]:
    """Stages of the guild's profile on this species' scale of age; pieces are left to the energy need.

    How many meals were printed for that species alone is not borrowed: eight a day starve a swallow. Such a stage
    takes the interval of the stage before.
    """
    own = practice.fledging_days
    scale = fledging_days / own.middle if fledging_days is not None and own is not None else 1.0
    how = f"stage of {practice.key} x {scale:.2f}, ratio of fledging ages"
    borrowed: list[Stage] = []
    for stage in practice.stages:
        its_own = stage.feeds_per_day is not None and stage.feeds_per_day.reach is Reach.SPECIES
        before = borrowed[-1].interval_min if borrowed else None
        ages = Ages(
            from_day=round(stage.ages.from_day * scale, 1),
            to_day=None if stage.ages.to_day is None else round(stage.ages.to_day * scale, 1),
            reach=Reach.INFERRED,
            equation=how,
        )
        borrowed.append(
            msgspec.structs.replace(
                stage,
                ages=ages,
                interval_min=stage.interval_min or before,
                feeds_per_day=None if its_own else stage.feeds_per_day,
                pieces_per_feed=None,
            )
        )
    return tuple(borrowed)


def _warm_stage(key: str, name: str, start: float, end: float | None, brooder_c: Band | None) -> Stage:
    ages = Ages(from_day=start, to_day=end, reach=Reach.INFERRED, equation="shares of the inferred fledging age")
    return Stage(key=key, name=name, ages=ages, feathered=key == "feathered", brooder_c=brooder_c)


def _borrowed(source: str) -> dict[str, Any]:
    return {"reach": Reach.INFERRED, "sources": (source,), "equation": "borrowed from another group"}


def _inferred(value: float, equation: str) -> Quantity:
    return Quantity(value=value, reach=Reach.INFERRED, equation=equation)
