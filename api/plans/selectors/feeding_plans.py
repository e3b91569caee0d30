"""A feeding plan for one bird: its profile, its powder and the time are fetched here; the rules do the rest."""

from collections.abc import Mapping
from typing import Any

import msgspec

from api.catalog.rules.strain import refuse_other_adult_mass
from api.catalog.selectors import species_known
from api.kitchen.rules.powders import Powder
from api.plans.rules.planning import feeding_plan
from api.plans.rules.plausible import refuse_contradictions
from api.plans.rules.request import PlanRequest
from api.web import clock
from api.web.build import BUILD
from species import selectors as species_selectors

DEFAULT_ZONE = "Etc/UTC"


def feeding_plan_read(
    *,
    bird: Mapping[str, Any],
    species: str | None = None,
    unlisted_species: Mapping[str, Any] | None = None,
    formula: Powder | None = None,
    formula_key: str | None = None,
) -> dict[str, Any]:
    """The plan, field by field, and what computed it.

    Parameters
    ----------
    bird
        What was told of it, by the names of ``PlanRequest``; the day is today in its zone where missing.
    species, unlisted_species
        Key of a profile, or what is known of a species without one.
    formula, formula_key
        The carer's powder, or a formula of the catalogue; the profile's default where neither is given.

    Raises
    ------
    DomainError
        Of an unknown key, a contradiction, or a bird outside what the rules can answer for.
    """
    zone = bird.get("time_zone", DEFAULT_ZONE)
    told = {"on": clock.today(zone), "time_zone_given": "time_zone" in bird, "powder": formula, **bird}
    request = msgspec.convert(told, PlanRequest)
    now = clock.now()
    refuse_contradictions(request, now=now)

    known, revision = species_known(species, unlisted_species)
    profile = known.profile
    refuse_other_adult_mass(adult_mass_g=request.adult_mass_g, usual_g=profile.masses.adult_g.value)
    named = formula_key or profile.default_formula
    plan = feeding_plan(
        known,
        request,
        now=now,
        formula=None if named is None else species_selectors.formula_get(named),
        foods=species_selectors.foods_get(food for stage in profile.stages for food in stage.foods),
    )
    return {**msgspec.structs.asdict(plan), "computed_by": {"revision": revision, "build": BUILD}}
