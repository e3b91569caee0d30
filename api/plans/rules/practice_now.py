"""What the carer does now, held against the bands of the bird's stage, profile and mass."""

from api.kitchen.rules.powders import Powder
from api.plans.rules.feed_parts import crop_rule, printed_row, spacing, spacing_inputs
from api.plans.rules.given import given_cautions
from api.plans.rules.intake import slurry_energy_kj_per_ml
from api.plans.rules.plan import Feed
from api.plans.rules.request import Given
from api.plans.rules.situation import Situation
from api.plans.rules.slurry_feed import WATER_ML_PER_G, solids_ml_per_g
from api.web.rules.cautions import Caution


def practice_cautions(situation: Situation | None, feed: Feed | None, powder: Powder | None) -> tuple[Caution, ...]:
    """Say what of ``given`` is outside the bands; nothing was told, nothing is said.

    Parameters
    ----------
    situation
        The bird; null where its stage is not known, and nothing can be held against it.
    feed
        What is planned, where the bird is to be fed.
    powder
        What its slurry is made of.
    """
    if situation is None or situation.request.given is None:
        return ()
    stage, given = situation.stage, situation.request.given
    solids, warmth = stage.dry_matter_fraction, situation.profile.feeding_temperature
    apart = spacing(**spacing_inputs(situation)) if stage.interval_min or stage.feeds_per_day else None
    return given_cautions(
        given,
        situation.request.condition,
        age_days=situation.age.days,
        # Who tells how thick it is gives slurry, whatever the stage is meant to eat.
        slurry=solids is not None or given.dry_matter_fraction is not None,
        dry_matter_low_fraction=solids.low if solids else None,
        dry_matter_high_fraction=solids.high if solids else None,
        low_c=warmth.band_c.low if warmth else None,
        high_c=warmth.band_c.high if warmth else None,
        never_above_c=warmth.never_above_c.value if warmth else None,
        cap_ml=cap_ml(situation),
        cap_g=feed.high_g if feed else None,
        feeds_low=apart.feeds.low + apart.night_feeds if apart else None,
        feeds_high=apart.feeds.high + apart.night_feeds if apart else None,
        need_low_kj_per_day=situation.energy.low_kj_per_day if situation.energy_judged else None,
        given_kj_per_day=_given_kj_per_day(given, powder),
    )


def cap_ml(situation: Situation) -> float | None:
    """Largest feed of slurry for the actual mass: the printed row, else the crop rule; null if not weighed."""
    if situation.provisional or situation.stage.dry_matter_fraction is None:
        return None
    row = printed_row(situation)
    return row.high_ml if row else crop_rule(situation)[0] * situation.mass_g


def _given_kj_per_day(given: Given, powder: Powder | None) -> float | None:
    if powder is None or given.volume_ml is None or given.dry_matter_fraction is None or given.feeds_per_day is None:
        return None
    density = slurry_energy_kj_per_ml(
        dry_matter_fraction=given.dry_matter_fraction,
        energy_kj_per_g_dm=powder.energy_kj_per_g_dm,
        solids_ml_per_g=solids_ml_per_g(powder),
        water_ml_per_g=WATER_ML_PER_G,
    )
    return given.volume_ml * density * given.feeds_per_day
