"""Which stage of the profile a bird is in: by what it shows, and by age where nothing was told.

A light chick is thin, not younger, so mass has no say here.
"""

from collections.abc import Sequence
from typing import Any

from api.plans.rules.request import PlanRequest
from api.web.rules.ledger import Ledger
from species.domain.errors import DomainError
from species.domain.profile import Profile
from species.domain.stage import Stage


def stage_key(*, age_days: float, stages: Sequence[dict[str, Any]], seen: Sequence[str], absent: Sequence[str]) -> str:
    """Key of the stage.

    Parameters
    ----------
    age_days
        Age, hatch day = 0.
    stages
        In order: ``key``, ``from_day``, ``to_day`` (null for the last) and ``opens_with``, the milestones that open it.
    seen, absent
        Milestones seen, and looked for but not seen.

    Returns
    -------
    str
        The stage of its age, stepped back while every milestone that opens it is known to be absent, or a later
        one that a seen milestone opens. A milestone seen long ago does not hold an older bird back.
    """
    index = max(n for n, stage in enumerate(stages) if n == 0 or stage["from_day"] <= age_days)
    while index > 0 and stages[index]["opens_with"] and set(stages[index]["opens_with"]) <= set(absent):
        index -= 1
    opened = [n for n, stage in enumerate(stages) if set(stage["opens_with"]) & set(seen)]
    index = max(index, *opened) if opened else index
    return str(stages[index]["key"])


def stage_of(profile: Profile, age_days: float, request: PlanRequest, ledger: Ledger) -> Stage:
    """Give the stage of a bird and note why."""
    if not profile.stages:
        raise DomainError(
            f"The profile of {profile.scientific_name} has no stages.", field="/species", code="no_stages"
        )
    key = ledger.derive(
        "/stage/key",
        stage_key,
        sources=tuple(ref for stage in profile.stages for ref in stage.ages.sources),
        age_days=age_days,
        stages=[
            {
                "key": stage.key,
                "from_day": stage.ages.from_day,
                "to_day": stage.ages.to_day,
                "opens_with": [milestone.value for milestone in stage.opens_with],
            }
            for stage in profile.stages
        ],
        seen=[m.key.value for m in request.milestones if m.seen],
        absent=[m.key.value for m in request.milestones if not m.seen],
    )
    return next(stage for stage in profile.stages if stage.key == key)
