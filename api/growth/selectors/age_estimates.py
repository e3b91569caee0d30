"""An age estimate: the species are fetched here, the rules do the rest."""

from collections.abc import Mapping, Sequence
from typing import Any

import msgspec

from api.catalog.rules.known import Known
from api.catalog.selectors import species_known
from api.growth.rules.ageing import AgeAsked, age_estimate
from api.web import clock
from api.web.build import BUILD
from species.domain.errors import DomainError

DEFAULT_ZONE = "Etc/UTC"


def age_estimate_read(
    *,
    seen: Mapping[str, Any],
    species: str | None = None,
    unlisted_species: Mapping[str, Any] | None = None,
    candidates: Sequence[str] = (),
) -> dict[str, Any]:
    """The age, field by field, and what computed it: the revision is that of the most probable candidate.

    Raises
    ------
    DomainError
        Of an unknown species, nothing that tells an age, or a weight that no bird of these has.
    """
    found = [_candidate(key, n) for n, key in enumerate(candidates)] or [species_known(species, unlisted_species)]
    asked = msgspec.convert({"on": clock.today(DEFAULT_ZONE), **seen}, AgeAsked)
    estimate = age_estimate([known for known, _ in found], asked)
    revisions = {known.profile.key: revision for known, revision in found}
    return {
        **msgspec.structs.asdict(estimate),
        "computed_by": {"revision": revisions.get(estimate.candidates[0].species), "build": BUILD},
    }


def _candidate(key: str, n: int) -> tuple[Known, int | None]:
    try:
        return species_known(key, None)
    except DomainError as error:
        error.field = f"/candidates/{n}"
        raise
