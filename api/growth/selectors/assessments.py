"""A growth assessment: the species is fetched here, the rules do the rest."""

from collections.abc import Mapping
from typing import Any

import msgspec

from api.catalog.selectors import species_known
from api.growth.rules.asked import GrowthAsked
from api.growth.rules.assessment import Assessment, assess
from api.growth.rules.chart import assessment_chart
from api.web.build import BUILD

DEFAULT_ZONE = "Etc/UTC"


def assessment_read(
    *,
    bird: Mapping[str, Any],
    species: str | None = None,
    unlisted_species: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """The assessment, field by field, and what computed it.

    Raises
    ------
    DomainError
        Of an unknown species, one without a curve, or weighings that cannot be.
    """
    known, revision = species_known(species, unlisted_species)
    assessment = assess(known, _asked(bird))
    return {**msgspec.structs.asdict(assessment), "computed_by": {"revision": revision, "build": BUILD}}


def assessment_drawn(
    *,
    bird: Mapping[str, Any],
    species: str | None = None,
    unlisted_species: Mapping[str, Any] | None = None,
) -> str:
    """The assessment as a chart, SVG text."""
    known, _ = species_known(species, unlisted_species)
    asked = _asked(bird)
    assessment: Assessment = assess(known, asked)
    return assessment_chart(known, asked, assessment)


def _asked(bird: Mapping[str, Any]) -> GrowthAsked:
    told = {"time_zone": DEFAULT_ZONE, **bird}
    told["weighings"] = [{**weighing, "index": n} for n, weighing in enumerate(told["weighings"])]
    return msgspec.convert(told, GrowthAsked)
