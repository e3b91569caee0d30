"""One mix for the portions due now: the powder is fetched here, the rules do the rest."""

from typing import Any

import msgspec

from api.plans.rules.mix_defaults import mix_request
from api.plans.rules.mixes import mix
from api.web.build import BUILD
from species import selectors as species_selectors


def mix_read(**told: Any) -> dict[str, Any]:
    """The mix, field by field, and what computed it.

    Parameters
    ----------
    **told
        Values by the names of the contract; one of ``formula`` and ``formula_key``.

    Raises
    ------
    DomainError
        Of an unknown key, a value outside its limits, or waters that cannot reach the target.
    """
    key = told.get("formula_key")
    formula = None if key is None else species_selectors.formula_get(key)
    answer = mix(mix_request(told, formula))
    return {**msgspec.structs.asdict(answer), "computed_by": {"revision": None, "build": BUILD}}
