"""What printed practice feeds a chick in a day, against what its growth is reckoned to need."""

import math
from collections.abc import Iterator, Mapping

from api.plans.rules.need import need_kj_per_day
from species.biology import growth_forms
from species.domain.food import Food, Formula
from species.domain.profile import Profile
from species.domain.record import Record
from species.domain.sourcing import Band
from species.domain.stage import Stage

#: Not judged before: yolk, and thin food (design of the plans: energy is no alarm on days 0 to 4).
FIRST_JUDGED_DAY = 5


class PracticeDay(Record, frozen=True, kw_only=True):
    """Energy of the middle of practice on one day, and the reckoned need."""

    day: int
    stage: str
    practice_kj: float
    need_kj: float

    @property
    def ratio(self) -> float:
        """Practice over need."""
        return self.practice_kj / self.need_kj


def practice_against_need(
    profile: Profile, *, formula: Formula | None, foods: Mapping[str, Food]
) -> Iterator[PracticeDay]:
    """Each day from day 5 to fledging of a chick on its species' curve, where practice prints how often and how much.

    Parameters
    ----------
    profile
        The species.
    formula
        Its powder, for slurry of about 1 g/mL; null where it takes none.
    foods
        Foods by key; a stage's own are taken in equal parts.

    Notes
    -----
    Feeds times the middle of the printed share of mass (or of the row printed for the mass), in the middle of the
    printed thickness. The need is :func:`api.plans.rules.need.need_kj_per_day`.
    """
    curve, energy, fledging = profile.growth_curve, profile.rearing_energy, profile.fledging_days
    if curve is None or energy is None or fledging is None:
        return
    form = curve.form.value
    asymptote_g, rate_per_day = curve.asymptote_g.value, curve.rate_per_day.value
    inflection_days = curve.inflection_days.value
    for day in range(FIRST_JUDGED_DAY, math.floor(fledging.middle) + 1):
        stage = _stage_on(profile, day)
        mass_g = float(growth_forms.mass_g(form, day, asymptote_g, rate_per_day, inflection_days))
        practice_kj = _practice_kj(profile, stage, mass_g, formula, foods)
        if practice_kj is None:
            continue
        yield PracticeDay(
            day=day,
            stage=stage.key,
            practice_kj=practice_kj,
            need_kj=need_kj_per_day(
                mass_g=mass_g,
                age_days=day,
                form=form,
                asymptote_g=asymptote_g,
                rate_per_day=rate_per_day,
                inflection_days=inflection_days,
                fledging_days=fledging.middle,
                equation=energy.equation,
                thermoneutral_share=energy.thermoneutral_share.value,
            ),
        )


def _stage_on(profile: Profile, day: float) -> Stage:
    return next(stage for stage in reversed(profile.stages) if stage.ages.from_day <= day)


def _practice_kj(
    profile: Profile, stage: Stage, mass_g: float, formula: Formula | None, foods: Mapping[str, Food]
) -> float | None:
    solid = [foods[food].energy_kj_per_g.value for food in stage.foods if food in foods]
    food_kj_per_g = sum(solid) / len(solid) if solid else None
    if stage.daily_fraction is not None and food_kj_per_g is not None:
        return stage.daily_fraction.middle * mass_g * food_kj_per_g
    printed = next(
        (row for row in profile.printed_volumes if row.from_g <= mass_g and (row.to_g is None or mass_g < row.to_g)),
        None,
    )
    interval_min = stage.interval_min.middle if stage.interval_min else None
    if printed is not None and printed.interval_low_min is not None and printed.interval_high_min is not None:
        interval_min = (printed.interval_low_min + printed.interval_high_min) / 2
    feeds = _feeds(stage.feeds_per_day if printed is None else None, interval_min, stage)
    if feeds is None:
        return None
    if stage.dry_matter_fraction is not None and formula is not None:
        kj_per_ml = stage.dry_matter_fraction.middle * formula.energy_kj_per_g_dm.value
        if printed is not None:
            return feeds * (printed.low_ml + printed.high_ml) / 2 * kj_per_ml
        if stage.volume_fraction is not None:
            return feeds * stage.volume_fraction.middle * mass_g * kj_per_ml
    if stage.meal_fraction is not None and food_kj_per_g is not None:
        return feeds * stage.meal_fraction.middle * mass_g * food_kj_per_g
    return None


def _feeds(feeds_per_day: Band | None, interval_min: float | None, stage: Stage) -> float | None:
    if feeds_per_day is not None:
        return feeds_per_day.middle
    if interval_min is None or stage.feeding_day_h is None:
        return None
    return stage.feeding_day_h.middle * 60 / interval_min + 1
